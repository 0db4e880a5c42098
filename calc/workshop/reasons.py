"""Reasons that are often given, to be tapped wherever a reason is asked; anything else is typed.

Common practice, no source. Those of the safety pages stand in both languages in their own table (shared/safety/page_words.csv).
"""

from calc.entry.language import later

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
    # Why a sheet is issued though free lye is possible, or its scent passes a limit.
    "issued": (
        later("Laundry soap, not for skin"),
        later("A trial for ourselves, not for sale"),
        later("Tested before any of it leaves"),
        later("The certificate is on its way"),
    ),
}
