"""The states of the batch log, each with its word and a shape of its own, so that none is told by color alone."""

from calc.entry.language import later

# As `STATES` of site/static/js/rules/log.mjs has them. A sign is an SVG path, 24 by 24, drawn as a line.
LOG_STATES = (
    ("issued", later("issued"), "M6 3h9l4 4v14H6zM9.5 11h6M9.5 15h6"),
    ("weighing", later("weighing"), "M4 20h16M6 20l2-8h8l2 8M12 12V8M8 8h8M5 5h14v3H5z"),
    ("poured", later("poured"), "M3 8l2 12h14l2-12M4 12h16M12 2v5M9.5 4.5L12 7l2.5-2.5"),
    ("cut", later("cut"), "M4 4h16v16H4zM12 4v16M4 12h16"),
    ("curing", later("curing"), "M12 3a9 9 0 1 0 0 18 9 9 0 0 0 0-18zM12 7v5l3.5 2.5"),
    ("cured", later("cured"), "M3 7h18v10H3zM7 12h10"),
    ("released", later("released"), "M12 3a9 9 0 1 0 0 18 9 9 0 0 0 0-18zM7.5 12.5l3 3 6-6.5"),
    ("reworked", later("reworked"), "M19 8a8 8 0 1 0 1 6M20 3v5h-5"),
    ("rejected", later("rejected"), "M8 3h8l5 5v8l-5 5H8l-5-5V8zM8.5 8.5l7 7M15.5 8.5l-7 7"),
    ("ended", later("ended early"), "M5 5h14v14H5zM5 19L19 5"),
    ("apart", later("set apart"), "M5 3v18M19 3v18M9 8h6v8H9z"),
)
