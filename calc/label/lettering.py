"""How wide a label's letters are: it is set in the face that is bundled with the pages, so lines break alike on paper and screen."""

import math
from collections.abc import Iterator, Mapping

# Advance widths of the bundled face, in thousandths of the size, by width; from its hmtx table.
_REGULAR = {
    160: "'", 205: ",.:;", 233: "|¦", 235: "·’", 239: "l", 254: "j", 256: "¹", 268: "`´", 278: "iìíîïı",
    280: " \N{NO-BREAK SPACE}", 281: "!¡", 291: "¸", 300: "()", 301: "\"", 311: "f", 315: "[]", 319: "{}", 324: "t", 340: "r",
    352: "°", 368: "-", 371: "ª", 377: "/\\", 381: "º", 382: "¯²", 383: "³", 396: "_", 398: "“”", 402: "1", 414: "IÌÍÎÏ",
    425: "¨", 429: "yýÿ", 433: "*", 438: "•", 441: "v", 460: "z", 461: "x", 471: "s", 480: "–", 490: "k", 500: "c¢ç", 508: "¶",
    510: "7J", 520: "?¿", 526: "aàáâãäå", 528: "×", 530: "§", 536: "uùúûü", 539: "Leèéêë", 546: "hnñ", 548: "F", 549: "2",
    552: "^oòóôõöø", 553: "<>", 555: "~µ", 558: "T", 560: "g", 562: "«»", 564: "d", 566: "bpþ", 567: "EÈÉÊËð", 574: "3",
    576: "qÞ", 579: "±", 580: "¤", 583: "5", 586: "£", 589: "V", 594: "$", 595: "Y¥Ý", 596: "S", 597: "ß", 598: "69", 601: "P",
    602: "+=¬÷", 607: "Z", 614: "4", 615: "8", 618: "R", 619: "B", 623: "X", 626: "AÀÁÂÃÄÅ", 627: "K", 648: "0", 654: "w",
    655: "#", 656: "CÇ", 673: "D", 689: "NÑ", 690: "HUÙÚÛÜ", 705: "&", 710: "G", 712: "Ð", 727: "OÒÓÔÕÖØ", 753: "Q", 780: "@",
    798: "©®", 800: "—", 812: "½", 820: "M", 826: "¼", 840: "W", 841: "m", 868: "¾", 874: "æ", 927: "%œ", 998: "Æ", 1052: "Œ",
}  # fmt: skip
_BOLD = {
    216: "¦", 222: "'", 234: "|", 243: ",.:;", 259: "j", 277: "’", 283: "!¡", 291: "¹", 301: "·ìíîïı", 314: "`l´", 315: "i",
    320: " \N{NO-BREAK SPACE}", 321: "¸", 333: "[]", 366: "()", 367: "f", 370: "{}", 372: "r", 374: "-", 379: "t", 395: "ª",
    404: "°", 405: "¯", 407: "²", 409: "º", 410: "\"", 413: "³", 430: "_", 434: "*", 438: "•", 442: "/\\", 448: "1", 452: "¨",
    458: "IÌÍÎÏ", 498: "“”", 508: "–", 515: "¶", 516: "z", 518: "yýÿ", 520: "c¢ç", 526: "v", 533: "x~", 534: "s", 537: "L",
    539: "×", 543: "7", 544: "F", 553: "aàáâãäå", 560: "J", 561: "9", 566: "eèéêë", 567: "k", 570: "uùúûü", 572: "hnñ",
    573: "<>oòóôõöø", 578: "§", 580: "EÈÉÊË", 586: "2", 589: "^ð", 591: "µ", 594: "÷", 596: "bdp¤þ", 597: "g", 601: "q", 605: "3",
    612: "5", 614: "?¿", 615: "Þ", 617: "T£", 618: "+=¬±", 619: "$S", 621: "Zß", 625: "8", 626: "4P", 632: "6", 639: "B",
    652: "0", 654: "R", 656: "V", 659: "K", 663: "UÙÚÛÜ", 669: "«»", 673: "CÇ", 679: "H", 686: "D", 687: "Y¥Ý", 690: "AÀÁÂÃÄÅ",
    699: "X", 700: "NÑ", 702: "&", 719: "G", 723: "w", 754: "@", 763: "Ø", 764: "OÒÓÔÕÖ", 773: "Ð", 781: "Q", 783: "#", 798: "©®",
    842: "M—", 853: "¼", 856: "½", 883: "Wæ", 886: "m", 937: "œ", 959: "¾", 977: "%", 1016: "Æ", 1061: "Œ",
}  # fmt: skip
# Heights in thousandths of the size: of capitals and figures, of the small letters without ascenders (OS/2 table).
CAPITALS, SMALL = 0.668, 0.496
# A letter that the face lacks comes from another one: as wide as its widest.
WIDEST = 1.0


def _by_letter(widths: Mapping[int, str]) -> dict[str, float]:
    return {letter: width / 1000.0 for width, letters in widths.items() for letter in letters}


_WIDTHS = {False: _by_letter(_REGULAR), True: _by_letter(_BOLD)}


def width(text: str, size: float, *, bold: bool = False) -> float:
    """How wide a line is, in the unit of its size. Kerning only makes it narrower or wider by a hair."""
    return size * math.fsum(_WIDTHS[bold].get(letter, WIDEST) for letter in text)


def wrapped(text: str, size: float, room: float, *, bold: bool = False) -> Iterator[str]:
    """The lines of a text in a room; a word that is too long for it alone is broken."""
    for paragraph in text.splitlines():
        line = ""
        for word in paragraph.split(" "):
            longer = f"{line} {word}" if line else word
            if width(longer, size, bold=bold) <= room:
                line = longer
                continue
            if line:
                yield line
            line = word
            while width(line, size, bold=bold) > room and len(line) > 1:
                fits = next(n for n in range(len(line) - 1, 0, -1) if n == 1 or width(line[:n], size, bold=bold) <= room)
                yield line[:fits]
                line = line[fits:]
        yield line
