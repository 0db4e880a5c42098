"""How a phone comes to belong: one secret at a time, held for ten minutes, good for one key, and a person's yes."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from shop.keys import is_user_key, name_by_chance, new_secret
from shop.limits import SECRET_HOLDS_S
from shop.phones import Phone, Phones, as_text, fold, tidy_name

Clock = Callable[[], datetime]


def _utc_now() -> datetime:
    return datetime.now(UTC)


@dataclass(frozen=True)
class Ask:
    """A phone that waits for a yes."""

    id: str
    key: str
    name: str
    since: str


@dataclass(frozen=True)
class Open:
    """What the code that is shown holds."""

    secret: str
    until: datetime


class Turned(Exception):
    """It may not, by the key of the words that the phone has for it."""

    def __init__(self, key: str) -> None:
        super().__init__(key)
        self.key = key


class Pairing:
    def __init__(self, phones: Phones, clock: Clock = _utc_now) -> None:
        self._phones = phones
        self._clock = clock
        self._open: Open | None = None
        self._ask: Ask | None = None
        # A key that was let in by the open secret: nobody else may come by it.
        self._let_in: str | None = None

    @property
    def secret(self) -> str | None:
        """The engine's password of who comes to be paired."""
        return self._open.secret if self._open else None

    @property
    def ask(self) -> Ask | None:
        return self._ask

    @property
    def seconds_left(self) -> float:
        return (self._open.until - self._clock()).total_seconds() if self._open else 0.0

    def open(self) -> Open:
        """A new secret; the one that nobody has used yet is given again while half of its time is left."""
        if self._ask is not None and self.seconds_left > 0:
            raise Turned("waiting")
        if self._phones.is_full:
            raise Turned("no_seat")
        unused = self._open is not None and self._let_in is None
        if self._open is None or not unused or self.seconds_left < SECRET_HOLDS_S / 2:
            self.close()
            self._open = Open(new_secret(), self._clock() + timedelta(seconds=SECRET_HOLDS_S))
        return self._open

    def close(self) -> None:
        self._open = self._ask = self._let_in = None

    def asked(self, key: object, name: object) -> Ask | Phone:
        """A phone asks: it waits for a yes, or belongs already, since its answer was lost on the way."""
        if not isinstance(key, str) or not is_user_key(key):
            raise Turned("refused")
        known = self._phones.with_key(key)
        if known is not None and known.revoked is None:
            return known
        if known is not None:
            raise Turned("refused")
        if self.seconds_left <= 0 or self._let_in is not None:
            raise Turned("expired")
        if self._ask is not None:
            if self._ask.key != key:
                raise Turned("expired")
            return self._ask
        shown = tidy_name(name)
        if shown is None:
            raise Turned("refused")
        if any(fold(phone.name) == fold(shown) for phone in self._phones.members):
            raise Turned("taken_name")
        self._ask = Ask(name_by_chance(10), key, shown, as_text(self._clock()))
        return self._ask

    def confirm(self, ask: object) -> Phone:
        waiting = self._waiting(ask)
        phone = self._phones.add(waiting.key, waiting.name)
        self._ask, self._let_in = None, waiting.key
        return phone

    def refuse(self, ask: object) -> Ask:
        """The secret is used up by it."""
        waiting = self._waiting(ask)
        self._ask, self._let_in = None, waiting.key
        return waiting

    def _waiting(self, ask: object) -> Ask:
        if self._ask is None or self._ask.id != ask:
            raise Turned("unknown")
        if self.seconds_left <= 0:
            raise Turned("expired")
        return self._ask
