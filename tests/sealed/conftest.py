"""A class with sealed calls for tests: both services on ports of their own, a trainer's key, a sealed sheet."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from simulator.classroom.asking import ADDRESS, TOKEN
from simulator.classroom.call_sheet import CallSheet, signed
from simulator.classroom.handing_out import HandOut
from simulator.classroom.line import Line
from simulator.instruments.warm_up import warm_up
from simulator.panels.learner.at_service import SEALED_ADDRESS
from simulator.records import Store
from simulator.scenario import Scenario, SiteChoice, choose_fault
from simulator.sealed.desk import SealedDesk
from simulator.sealed.service import application
from simulator.signing.keys import TrainerKey
from simulator.signing.ring import make_key
from tests.classroom.a_class import Hub, Service, a_class

NOW = datetime(2026, 3, 2, 8, tzinfo=UTC)
PREFIX = "/services/sealed"
SIZE, SEED = 0.00737291, 1730582641  # no other figure in the program is one of these


class SealedService(Service):
    """The service of sealed calls, there or away, always at the same address."""

    accounts = "shared"

    @property
    def address(self) -> str:
        return super().address.replace("/services/class", PREFIX)

    def made(self) -> tuple[Any, Any]:
        folder, place, keys, _ = self._given
        self.desk = SealedDesk(folder, place, keys, self.accounts)
        return application(PREFIX, Hub(), lambda: self.desk), self.desk.close


@dataclass
class Room:
    """A class with both services."""

    folder: Path
    keys: Path
    key: TrainerKey
    records: Service
    sealed: SealedService

    def line(self, number: int = 1) -> Line:
        """The line of a learner's page to the sealed calls."""
        return Line(self.sealed.address, f"token-{number}", "calls", 60.0)


def the_call(mode: str = "practice", size: float = SIZE, seed: int = SEED) -> Scenario:
    """A call that the yard's book does not have."""
    return Scenario(
        title="The pump at Sallow Mere",
        brief="It will not draw.",
        site=SiteChoice(name="Sallow Mere", lift_m=3.1),
        faults=(choose_fault("joint_ring", size, "joint:1"),),
        mode=mode,  # type: ignore[arg-type]
        seed=seed,
    )


@pytest.fixture
def room(tmp_path: Path) -> Iterator[Room]:
    warm_up()  # as the service does before it plays anything
    folder, keys = a_class(tmp_path / "class"), tmp_path / "keys"
    key = make_key("R. Ferrow", NOW, keys)
    with (
        Service(folder, folder / "records", keys) as records,
        SealedService(folder, folder / "records", keys) as sealed,
    ):
        yield Room(folder, keys, key, records, sealed)


@pytest.fixture
def at_ada(room: Room, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Store]:
    """Ada's own records, in a process that belongs to the class."""
    monkeypatch.setenv(ADDRESS, room.records.address)
    monkeypatch.setenv(SEALED_ADDRESS, room.sealed.address)
    monkeypatch.setenv(TOKEN, "token-1")
    monkeypatch.setenv("SIMULATOR_LEARNER", "Ada Quill")
    monkeypatch.setenv("SIMULATOR_DATA_DIR", str(tmp_path / "ada"))
    monkeypatch.setenv("SIMULATOR_KEY_DIR", str(tmp_path / "ada" / "keys"))
    monkeypatch.setattr("simulator.classroom.handing_in._handing", {})
    # on a busy machine an answer that comes late is no service that is away
    monkeypatch.setattr(Line.__init__, "__defaults__", (60.0,))
    monkeypatch.setattr("simulator.panels.learner.at_service.SHORT", 60.0)
    (tmp_path / "ada").mkdir()
    with Store.open(tmp_path / "ada" / "records.sqlite3") as store:
        yield store


def hand_out(room: Room, **ticks: bool) -> CallSheet:
    """A sealed sheet of two calls, handed out."""
    sheet = CallSheet("monday", "Monday", (the_call(), the_call()), sealed=True, **ticks)
    HandOut(room.folder, room.keys).hand_out(signed(sheet, room.key, NOW))
    return sheet
