"""What is told of a block while it stands in its mould: what covers it, and how far the gel went.

Common practice, no source. The keys are stored with each block and may never be spelled otherwise.
"""

from calc.entry.language import later

COVERS = {
    "blanket": later("Lid and blanket"),
    "lid": later("Lid or board"),
    "film": later("Film"),
    "none": later("Nothing"),
}
GELS = {
    "full": later("To the edges"),
    "partial": later("In the middle only"),
    "none": later("No gel"),
    "unseen": later("Nobody looked"),
}
