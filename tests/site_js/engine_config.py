"""The shop engine's own configuration, for tests of the phone's side: reads the run's facts as JSON, prints it and the stream's."""

import json
import sys
from dataclasses import dataclass
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2] / "site"))

from shop import engine


@dataclass(frozen=True)
class Phone:
    device: str
    key: str
    seat: int


asked = json.load(sys.stdin)
run = engine.Run(asked["shop"], Path(asked["folder"]), "http://127.0.0.1", asked["client"], asked["websocket"], asked["passwords"])
phones = [Phone(phone["device"], phone["key"], seat) for seat, phone in enumerate(asked["phones"])]
print(json.dumps({"config": engine.config(run, phones, asked["secret"]), "stream": engine.stream(asked["shop"])}))
