"""Which lot a code means: in whatever letters it was typed, and whichever code its form bore before."""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

Event = Mapping[str, Any]


def lot_key(code: str) -> str:
    """What all ways of typing one code have in common: blanks and the case of letters tell no lots apart."""
    return "".join(code.split()).casefold()


class LotCodes:
    """The codes of a workshop's lots. `of` calls each lot by the code that its form bears now."""

    def __init__(self, saves: Iterable[Event], items: Mapping[str, Iterable[tuple[str, Mapping[str, str]]]]) -> None:
        """saves: what was saved of lots, in order, as far as it is known; items: id and form of each lot there is, by kind."""
        self._bore: dict[str, list[tuple[str, tuple[str, str]]]] = {}
        self._now: dict[tuple[str, str], str] = {}
        self._said: dict[str, str] = {}
        # A code of no lot that is known is called as it was met first.
        self._met: dict[str, str] = {}
        for save in saves:
            kind, _, id_ = str(save.get("subject")).partition(":")
            values = save.get("values")
            if kind in items and isinstance(values, Mapping):
                # The invented workshop's own come before all that is recorded in it.
                at = "" if save.get("kind") == "invented" else _moment(save)
                self._tell((kind, id_), str(values.get("code") or ""), at)
        for kind, own in items.items():
            for id_, form in own:
                self._tell((kind, id_), form.get("code", ""), "")

    def _tell(self, lot: tuple[str, str], code: str, at: str) -> None:
        key = lot_key(code)
        if not key:
            return
        self._now[lot] = code.strip()
        self._said.setdefault(key, code.strip())
        bore = self._bore.setdefault(key, [])
        if all(other != lot for _, other in bore):
            bore.append((at, lot))

    def of(self, code: str, at: str = "") -> str:
        """The lot's code as it is now. at: when the code was used; of two lots that bore it, the one that bore it by then is meant."""
        key = lot_key(code)
        if not key:
            return code
        bore = self._bore.get(key)
        if bore is None:
            return self._met.setdefault(key, code.strip())
        by_then = [lot for since, lot in bore if since <= at[:19]]
        return self._now[by_then[-1] if by_then else bore[0][1]]

    def meant(self, code: str) -> tuple[str, ...]:
        """The codes as they are now of every lot that ever bore this one, the one that bears it still first."""
        now = [self._now[lot] for _, lot in self._bore.get(lot_key(code), ())]
        return tuple(dict.fromkeys(sorted(now, key=lambda each: lot_key(each) != lot_key(code))))

    def once_called(self, code: str) -> tuple[str, ...]:
        """What else a lot was called that is called so now."""
        lots = {lot for lot, now in self._now.items() if lot_key(now) == lot_key(code)}
        return tuple(self._said[key] for key, bore in self._bore.items() if key != lot_key(code) and any(lot in lots for _, lot in bore))

    def in_event(self, event: Event) -> Event:
        """What was told of a tank or weighed, with its lots called as they are now."""
        at = _moment(event)
        changed: dict[str, Any] = {}
        for name in ("lot", "as_lot"):
            if isinstance(event.get(name), str):
                changed[name] = self.of(event[name], at)
        if isinstance(event.get("parts"), Sequence):
            changed["parts"] = [self._part(part, at) for part in event["parts"]]
        return {**event, **changed} if changed else event

    def in_entry(self, entry: Event) -> Event:
        """An entry of the batch log, with its lots called as they are now."""
        at = _moment(entry)
        drawn = [{**row, "lot": self.of(str(row.get("lot") or ""), str(row.get("at") or at))} for row in entry.get("drawn") or ()]
        used = [self._used(row, at) for row in entry.get("used") or ()]
        lots = list(dict.fromkeys(self.of(str(lot), at) for lot in entry.get("lots") or ()))
        return {**entry, "drawn": drawn, "used": used, "lots": lots}

    def _used(self, row: Any, at: str) -> Any:
        if not isinstance(row, Mapping):
            return row
        parts = {"parts": [self._part(part, at) for part in row["parts"]]} if row.get("parts") else {}
        return {**row, "lot": self.of(str(row.get("lot") or ""), at), **parts}

    def _part(self, part: Any, at: str) -> Any:
        return {**part, "lot": self.of(part["lot"], at)} if isinstance(part, Mapping) and isinstance(part.get("lot"), str) else part


def _moment(event: Event) -> str:
    return "" if "days_ago" in event else str(event.get("local") or event.get("at") or "")[:19]
