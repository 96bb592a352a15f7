"""A bench with a clock of its own, and browsers at its two doors."""

from __future__ import annotations

import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from starlette.testclient import TestClient

from tundish.web import devices, people
from tundish.web.app import make_app
from tundish.web.config import NETWORK, Config
from tundish.web.vault import open_vault

HERE, SHOP = "127.0.0.1:8380", "192.168.7.20:8381"
SENTENCE = "three green kettles"
WASHER = "front-load washer"
FEW = 1500


@dataclass
class Clock:
    """A clock that tests move."""

    at: float = 1_795_600_000.0

    def __call__(self) -> float:
        return self.at


class Browser(TestClient):
    """A browser that asks again while it is told to wait, and sends the token that it was given."""

    token = ""

    def know(self) -> dict[str, Any]:
        """Ask who one is, and keep the token."""
        found = self.get("/api/me").json()
        self.token = found["token"]
        return found

    def facts(self, path: str, status: int = 200, **rest: Any) -> Any:
        """Facts, when they are there."""
        for _ in range(600):
            answer = self.get(path, **rest)
            if answer.status_code != 202:
                assert answer.status_code == status, answer.text
                return answer.json()
            time.sleep(0.05)
        raise AssertionError("it takes too long")

    def tell(self, path: str, body: Any, status: int = 200, **headers: str) -> Any:
        """Send a form as the page does."""
        answer = self.post(path, json=body, headers={"X-Tundish-Token": self.token, **headers})
        assert answer.status_code == status, answer.text
        return answer.json()


@dataclass
class Bench:
    """A bench's folder, clock and doors."""

    folder: Path
    cache: Path
    static: Path
    clock: Clock = field(default_factory=Clock)

    @property
    def home(self) -> Config:
        """The door of this computer."""
        return Config(
            self.folder, self.cache, (HERE,), network=f"https://{SHOP}", machines=FEW, now=self.clock,
            patience=0.05, static=self.static,
        )  # fmt: skip

    @property
    def shop(self) -> Config:
        """The door of the shop's network."""
        return replace(self.home, door=NETWORK, hosts=(SHOP,))

    @property
    def vault(self) -> Any:
        """The file of secrets."""
        return open_vault(self.folder, self.clock)

    @contextmanager
    def browser(self, config: Config, place: str = "127.0.0.1") -> Iterator[Browser]:
        """A browser at a door, its token known."""
        base = f"{config.scheme}://{config.hosts[0]}"
        with Browser(make_app(config), base, client=(place, 50_000), raise_server_exceptions=False) as one:
            one.know()
            yield one

    @contextmanager
    def phone(self, person: str = "first", place: str = "192.168.7.31") -> Iterator[Browser]:
        """A paired phone of somebody."""
        with self.browser(self.shop, place) as one:
            code = devices.pairing(self.vault, person)
            one.tell("/api/pair", {"code": code, "label": "a phone"})
            one.know()
            yield one

    def staffed(self) -> str:
        """Give the owner a password and add a technician, whose id is returned."""
        people.set_password(self.vault, "first", SENTENCE)
        return people.add(self.vault, "Sam", "technician", SENTENCE).id
