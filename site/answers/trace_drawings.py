"""The ways of a trace as SVG with a text equivalent: lots at the top, then batches, packed lots, and outlets at the bottom."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from markupsafe import Markup, escape

from calc.entry.language import ntr, tr
from calc.entry.shown import number
from calc.record.trace import Trace

WIDTH, NODE_W, NODE_H, GAP, ROW, LAYER = 360.0, 112.0, 34.0, 12.0, 44.0, 52.0
ACROSS = 3
# So many of a layer are drawn; the list below the picture names all.
MOST = 6
LONGEST = 16


@dataclass(frozen=True)
class _Node:
    key: str
    words: str
    under: str


def ways(told: Trace, code: str, names: Mapping[str, str]) -> Markup:
    """The picture; empty where there is nothing to draw."""
    layers = [
        ("lot", [_Node(lot, lot, next((tr("in {tank}", tank=by) for by in brought if by), "")) for lot, brought in _lots_first(told, code)]),
        ("batch", [_Node(batch, batch, _blocks_said(told, batch)) for batch in told.batches]),
        ("packed", [_Node(lot.id, lot.code, _bars(lot.bars)) for lot in told.packed]),
        ("outlet", [_Node(outlet, names.get(outlet, outlet), _bars(_out(told, outlet))) for outlet in told.outlets]),
    ]
    parts: list[str] = []
    places: dict[tuple[str, str], tuple[float, float]] = {}
    boxes: list[str] = []
    top = 4.0
    for kind, nodes in layers:
        if not nodes:
            continue
        shown = nodes if len(nodes) <= MOST else nodes[: MOST - 1]
        rest = len(nodes) - len(shown)
        cells = [*shown, *([_Node("", tr("and {n} more", n=rest), "")] if rest else [])]
        for n, node in enumerate(cells):
            row, column = divmod(n, ACROSS)
            in_row = min(ACROSS, len(cells) - row * ACROSS)
            x = (WIDTH - in_row * NODE_W - (in_row - 1) * GAP) / 2 + column * (NODE_W + GAP)
            y = top + row * ROW
            if node.key:
                places[kind, node.key] = (x + NODE_W / 2, y)
            boxes.append(_box(kind if node.key else "more", node, x, y))
        for node in nodes[len(shown) :]:
            places[kind, node.key] = _place_of_more(len(cells), top)
        top += ((len(cells) - 1) // ACROSS) * ROW + NODE_H + LAYER
    for start, end in _lines(told):
        if start in places and end in places:
            parts.append(_line(places[start], places[end]))
    if not boxes:
        return Markup("")
    height = top - LAYER + 4.0
    return Markup('<svg class="drawing trace-drawn" role="img" viewBox="0 0 {} {}" aria-label="{}">{}{}</svg>').format(
        number(WIDTH), number(height, 1), _said(told), Markup("".join(dict.fromkeys(parts))), Markup("".join(boxes))
    )


def _place_of_more(cells: int, top: float) -> tuple[float, float]:
    """Where the last box of a layer stands, which stands for all that is not drawn."""
    row, column = divmod(cells - 1, ACROSS)
    in_row = min(ACROSS, cells - row * ACROSS)
    return (WIDTH - in_row * NODE_W - (in_row - 1) * GAP) / 2 + column * (NODE_W + GAP) + NODE_W / 2, top + row * ROW


def _lots_first(told: Trace, code: str) -> list[tuple[str, Sequence[str]]]:
    return sorted(told.lots.items(), key=lambda each: each[0].casefold() != code.strip().casefold())


def _bars(bars: int) -> str:
    return ntr("{number} bar", "{number} bars", bars)


def _blocks_said(told: Trace, batch: str) -> str:
    blocks = [block for block in told.blocks if block.code == batch]
    return ntr("{number} block", "{number} blocks", len(blocks)) if blocks else ""


def _out(told: Trace, outlet: str) -> int:
    return sum(each.bars for each in told.at_outlets if each.outlet == outlet)


def _lines(told: Trace) -> list[tuple[tuple[str, str], tuple[str, str]]]:
    found: list[tuple[tuple[str, str], tuple[str, str]]] = []
    for block in told.blocks:
        found += [(("lot", lot), ("batch", block.code)) for lot in told.lots_by_block[block.id]]
        found += [(("batch", taken.rpartition("/")[0]), ("batch", block.code)) for taken in block.takes]
    for lot in told.packed:
        found += [(("batch", part.code), ("packed", lot.id)) for part in lot.parts]
        found += [(("packed", lot.id), ("outlet", outlet)) for outlet in lot.out]
    return found


def _line(start: tuple[float, float], end: tuple[float, float]) -> str:
    (x1, y1), (x2, y2) = start, end
    if y1 == y2:
        # Soap set aside, from one batch into another of the same row.
        y, low = y1 + NODE_H, y1 + NODE_H + 7.0
        return f'<path class="tr-aside" d="M{_n(x1)} {_n(y)}V{_n(low)}H{_n(x2)}V{_n(y)}"/>'
    if y1 > y2:
        return f'<path class="tr-aside" d="M{_n(x1)} {_n(y1)}L{_n(x2)} {_n(y2 + NODE_H)}"/>'
    y1 += NODE_H
    middle = (y1 + y2) / 2
    return f'<path class="tr-way" d="M{_n(x1)} {_n(y1)}C{_n(x1)} {_n(middle)} {_n(x2)} {_n(middle)} {_n(x2)} {_n(y2)}"/>'


def _box(kind: str, node: _Node, x: float, y: float) -> str:
    words = node.words if len(node.words) <= LONGEST else f"{node.words[: LONGEST - 1]}…"
    middle = x + NODE_W / 2
    found = f'<rect class="tr-{kind}" x="{_n(x)}" y="{_n(y)}" width="{_n(NODE_W)}" height="{_n(NODE_H)}" rx="5"/>'
    found += f'<text class="tr-text" x="{_n(middle)}" y="{_n(y + (15 if node.under else 21))}" text-anchor="middle">{escape(words)}</text>'
    if node.under:
        found += f'<text class="tr-under" x="{_n(middle)}" y="{_n(y + 28)}" text-anchor="middle">{escape(node.under)}</text>'
    return found


def _n(value: float) -> str:
    return number(value, 1)


def _said(told: Trace) -> str:
    return tr(
        "{lots} lots, {batches} batches, {packed} packed lots, {outlets} outlets; the lists below name them",
        lots=len(told.lots), batches=len(told.batches), packed=len(told.packed), outlets=len(told.outlets),
    )  # fmt: skip
