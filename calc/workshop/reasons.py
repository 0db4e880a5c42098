"""Reasons that are often given, to be tapped wherever a reason is asked; anything else is typed.

Common practice, no source. Those of the safety pages stand in both languages in their own table (shared/safety/page_words.csv).
"""

from calc.entry.language import later

# What soap set aside for it has to be asked about before it goes into another batch.
FREE_LYE = later("Free lye in it, or not sure")
_SPILT, _WRONG = later("It was spilled or splashed"), later("The wrong container was used")

REASONS = {
    # Why a block goes on though something of "Ready today?" is missing.
    "unready": (
        later("It was checked but not written down"),
        later("It's in the records of another phone"),
        later("I run this shop and work alone"),
        later("A trained person stands by"),
    ),
    "corrected": (
        later("The display was misread"),
        later("It was mistyped"),
        later("It was typed at the wrong step"),
    ),
    # Why a pour ended outside its band.
    "outside": (later("The valve was closed too late"), later("The scale was read too late"), _SPILT, _WRONG),
    "apart": (
        later("Somebody is hurt"),
        later("Not sure what was poured"),
        later("The wrong lot, or not sure which"),
        later("It won't come to trace"),
        _WRONG,
        _SPILT,
    ),
    # Why a tank is filled no further.
    "fill-stopped": (
        later("It got too hot"),
        later("There wasn't enough of it"),
        later("Somebody is hurt"),
        later("Not sure what went in"),
        _SPILT,
    ),
    # Why a portion goes into lye that is too warm for it.
    "too-warm": (
        later("The thermometer reads wrong: another one says it’s cool enough"),
        later("Whoever runs the shop said so"),
    ),
    # Why a portion goes into lye that nobody has read.
    "unread": (
        later("It stood overnight, and the tank feels as cold as the room"),
        later("Whoever runs the shop said so"),
    ),
    # Why whole bars can't be sold.
    "set-aside": (
        later("Chipped or broken at the wires"),
        later("Too light or too thin"),
        later("A pocket or a crack"),
        later("Ash or color"),
        FREE_LYE,
    ),
    # How a block above the hoist's limit comes out of its mould all the same.
    "over-hoist": (later("A hoist rated for it lifts it"), later("It is taken out in parts"), later("It is cut where it stands")),
    # Why a block's work after the pour is not told to its end.
    "end-here": (
        later("We don't note this part"),
        later("Cut and racked, not noted"),
        later("The block isn't cut: trial or rebatch"),
    ),
    # Why a sheet is issued though free lye is possible, or its scent passes a limit.
    "issued": (
        later("Laundry soap, not for skin"),
        later("A trial for ourselves, not for sale"),
        later("Tested before any of it leaves"),
        later("The certificate is on its way"),
    ),
}
