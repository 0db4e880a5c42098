"""The stream, as the service uses it: made once, looked at, and read from first to last."""

from __future__ import annotations

import json
from collections.abc import AsyncIterator
from dataclasses import dataclass
from typing import Any

from nats.aio.client import Client

from shop.engine import STREAM, stream
from shop.hub.facts import Joined
from shop.limits import MIB
from shop.refusals import Refused

_API = "$JS.API.STREAM"
# What is asked for in one go.
_BATCH, _BATCH_BYTES = 500, 4 * MIB
_PATIENCE_S = 30


@dataclass(frozen=True)
class Message:
    device: str
    payload: bytes


async def make(client: Client, shop: str, joined: Joined | None = None) -> bool:
    """Makes the stream, or brings the one that is there up to this build's limits. Another shop's isn't touched. Tells
    whether it was made just now."""
    info = await _asked(client, f"{_API}.INFO.{STREAM}", {})
    wanted = stream(shop, joined)
    if info.get("error", {}).get("code") == 404:
        done = await _asked(client, f"{_API}.CREATE.{STREAM}", wanted)
    elif "config" in info and info["config"]["subjects"] != wanted["subjects"]:
        raise Refused(
            f"The engine's folder holds another shop's events ({info['config']['subjects'][0]}). "
            "Remedy: move the folder 'engine' away; a new one is made, and phones send everything again."
        )
    elif "config" in info:
        done = await _asked(client, f"{_API}.UPDATE.{STREAM}", wanted)
    else:
        done = info
    if "error" in done:
        raise Refused(
            f"The engine can't keep the events: {done['error'].get('description')}. Remedy: look into engine/engine.log."
        )
    return "error" in info


async def state(client: Client) -> dict[str, Any]:
    """How many messages there are, which is the last, how many bytes."""
    found: dict[str, Any] = (await _asked(client, f"{_API}.INFO.{STREAM}", {}))["state"]
    return found


async def messages(client: Client) -> AsyncIterator[Message]:
    """All that are there when it begins, in the order in which they came."""
    there = await state(client)
    last, after = there["last_seq"], 0
    while after < last:
        inbox = client.new_inbox()
        heard = await client.subscribe(inbox)
        asked = {
            "seq": after + 1,
            "batch": _BATCH,
            "max_bytes": _BATCH_BYTES,
        }
        await client.publish(f"$JS.API.DIRECT.GET.{STREAM}", json.dumps(asked).encode(), reply=inbox)
        came = 0
        while True:
            message = await heard.next_msg(timeout=_PATIENCE_S)
            headers = message.headers or {}
            # The end of what was asked for comes as a message of its own, without a number.
            if "Nats-Sequence" not in headers:
                break
            after, came = int(headers["Nats-Sequence"]), came + 1
            yield Message(headers["Nats-Subject"].rpartition(".")[2], message.data)
        await heard.unsubscribe()
        if came == 0:
            return


async def _asked(client: Client, subject: str, told: dict[str, Any]) -> dict[str, Any]:
    answer = await client.request(subject, json.dumps(told).encode() if told else b"", timeout=_PATIENCE_S)
    found: dict[str, Any] = json.loads(answer.data)
    return found
