"""The line that says what comes next, followed to the letter from the call to its end: nothing it says is refused, costs
marks, or is unsafe.

What the line leaves open (which look, which work, where the markers go) is chosen as the expert would; what it says
itself (walk round, start, watch, one quick look, stop, call, put right what was found, prove it) is done as it reads.
"""

from __future__ import annotations

import json
import shutil
import subprocess
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from simulator.attempt import Attempt, MemoryStore
from simulator.diagnosis.option import CHECK, HAND_OVER, REMEDY, Option
from simulator.instruments.checks import CHECKS
from simulator.marking.economy import expert_advice
from simulator.marking.service import marked_attempt
from simulator.panels.exercise.page_model import build_page
from simulator.rig.remedies import REMEDIES
from simulator.scenario import Scenario
from simulator.studies.skill import study_scenarios
from simulator.studies.trainees import Expert
from tests.marking.conftest import call_out

NEXT_STEP = (
    Path(__file__).parents[3] / "simulator" / "panels" / "screen" / "src" / "exercise" / "next_step.js"
)
SCRIPT = f"""
import {{ createInterface }} from "node:readline";
import {{ nextStep }} from "{NEXT_STEP.as_uri()}";
for await (const line of createInterface({{ input: process.stdin }}))
  console.log(JSON.stringify(nextStep(JSON.parse(line))));
"""
CALLS, MOST = 40, 400
STEP = 5.0  # [s] watched at a time
#: What the line asks of who watches.
WATCHED = {"watch", "watch_pumps", "prove", "prove_wet", "hold_longer"}
#: What it leads to: the start is pressed, or the stop.
STARTS = {"start", "start_proof", "start_proof_first"}
STOPS = {
    "overdue_looked",
    "overdue_call",
    "overdue_not_mended",
    "overdue_proof",
    "overdue_lost_proof",
    "not_counted",
}
CALLING = {
    "walk_found",
    "pumps_waits",
    "look",
    "lock",
    "lock_where",
    "lock_elsewhere",
    "test_found",
    "call_first",
}


@pytest.fixture(scope="module")
def bar() -> Iterator[subprocess.Popen[str]]:
    node = shutil.which("node")
    if node is None:
        pytest.skip("there is no Node here")
    with subprocess.Popen(
        [node, "--input-type=module", "-e", SCRIPT], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    ) as process:
        yield process
        process.kill()


class Follower(Expert):
    """Does what the line says."""

    name = "bar follower"

    def __init__(self, attempt: Attempt, seed: int, line: subprocess.Popen[str]) -> None:
        super().__init__(attempt, seed)
        self.line, self.said = line, []  # type: ignore[var-annotated]

    def says(self) -> dict[str, Any]:
        """What the line says now, of a page on which no marker is being placed."""
        page = build_page(self.attempt)
        standing = {
            "page": page,
            "placed": 0,
            "tab": "do",
            "folded": True,
            "lacking": [],
            "rate": 20,
            "held": bool((page["run"]["wait"] or {}).get("key", "").endswith(":came")),
        }
        assert self.line.stdin is not None
        assert self.line.stdout is not None
        self.line.stdin.write(json.dumps(standing) + "\n")
        self.line.stdin.flush()
        return dict(json.loads(self.line.stdout.readline()))

    def follow(self) -> None:
        """From the first word to the end."""
        for _ in range(MOST):
            if self.attempt.yard.ended:
                return
            step = self.says()
            self.said.append(step["key"])
            self.follow_one(step)
        raise AssertionError(f"no end: {self.said[-12:]}")

    def follow_one(self, step: dict[str, Any]) -> None:
        """One sentence."""
        key, items = step["key"], [one["item"] for one in step["buttons"] if one.get("item")]
        attempt = self.attempt
        if items:
            self.accepted(items[0]["action"], items[0]["args"])
        elif key == "question":
            self.answer()
        elif key in STARTS:
            if attempt.timelines:
                self.accepted("wait", {"seconds": 60.0})  # from the emptied hose
            self.accepted("start_engine", {})
        elif key in WATCHED:
            self.accepted("wait", {"seconds": STEP})
        elif key in ("overdue", "overdue_lost"):
            look = self.quick_look()
            self.accepted("check", look) if look else self.accepted("stop_engine", {})
        elif key in STOPS:
            self.accepted("stop_engine", {})
        elif key in ("slow", "slow_proof", "start_rated"):
            self.accepted("set_speed", {"speed": "rated"})
        elif key in CALLING:
            self.call()
        elif key in ("proven", "proven_slowed"):
            self.attempt.act(
                "finish", {}
            )  # what comes late may show while the van is packed: nobody could know
        else:  # which look or work, the line leaves to who follows it
            self.as_the_expert(key)

    def accepted(self, action: str, args: dict[str, Any]) -> None:
        """Done as it stands: what the line leads to waits for nothing."""
        done = self.attempt.act(action, args)
        assert done.accepted, (action, args, done.sentence, self.said[-5:])

    def answer(self) -> None:
        """The open question: how long a good rig takes, or what a plate would show."""
        question = self.attempt.yard.question
        value = self.guess() if question == "sound_prime_time" else self.blank_answer(self.suspect())
        self.accepted("predict", {"question": question, "answer": value})

    def suspect(self) -> str:
        markers = self.attempt.yard.calls[-1]["markers"]
        named = {name: count for name, count in markers.items() if name != "something_else"}
        return max(named, key=lambda name: named[name])

    def quick_look(self) -> dict[str, Any]:
        """One look that needs it running, three minutes at most: any, by turns."""
        quick = [
            look
            for look in self.offered(CHECK)
            if "running" in CHECKS[look.id].needs
            and 0.0 < CHECKS[look.id].minutes <= 3.0
            and not {"edge_safe", "second_person"} & set(CHECKS[look.id].needs)
        ]
        if not quick:
            return {}
        look = quick[self.chance.randrange(len(quick))]
        return {"check": look.id, **({"place": look.place} if look.place else {})}

    def as_the_expert(self, key: str) -> None:
        """Between the calls looks, and after them work, until the expert would go on another way."""
        assert key in (
            "test",
            "put_right",
            "put_right_at",
            "put_right_which",
            "put_right_pointed",
            "put_right_in_vain",
            "not_proven",
        ), key
        story, belief = self.story, self.trail.end
        option = expert_advice(belief, story, self.trail.time, bool(self.attempt.timelines)).option
        locked = len(self.attempt.yard.calls)
        if option.kind == HAND_OVER:
            self.attempt.act("give_up")
        elif locked == 1 and option.kind != CHECK:
            self.call()
        elif key.startswith("put_right") and key != "put_right_in_vain" and option.kind != REMEDY:
            work = self.called() or self.repair(self.suspect())
            assert work is not None
            self.do(work)
        elif option.kind in (REMEDY, CHECK):
            self.do(option)
        else:
            self.attempt.act("give_up")

    def called(self) -> Option | None:
        """The work that the latest look called for."""
        for event in reversed(self.attempt.log):
            if event["act"] == "check" and event["accepted"]:
                seen = event["result"]
                work = dict(CHECKS[seen["check"]].calls_for).get(seen["outcome"])
                place = str(seen.get("place") or "")
                place = place if ":" in place else ""
                return Option(REMEDY, work, place, REMEDIES[work].minutes) if work else None
        return None


def _followed(
    scenario: Scenario, seed: int, bar: subprocess.Popen[str]
) -> tuple[list[str], list[Any], list[str]]:
    """What the line said, the steps that lost minutes, and what was refused or unsafe."""
    attempt = Attempt(scenario, MemoryStore(), mode="practice", seed=seed)
    follower = Follower(attempt, seed, bar)
    follower.follow()
    lost = [
        (item.step.option.id, item.step.option.place, round(item.lost, 2), item.better.id)
        for item in marked_attempt(attempt)[2].judged
        if item.lost > 0.0
    ]
    refused = [
        str(event["act"])
        for event in attempt.log
        if event["breach"] or not (event["accepted"] or event["act"] == "finish")
    ]
    return follower.said, lost, refused


@pytest.mark.parametrize(
    ("fault", "size"),
    [
        ("line_kinked", 0.9),
        pytest.param("hose_humped", 0.6, marks=pytest.mark.full),
        pytest.param("strainer_plugged", 0.98, marks=pytest.mark.full),
        pytest.param("sound", 0.0, marks=pytest.mark.full),
    ],
)
def test_the_line_followed_to_the_letter_costs_nothing(
    fault: str, size: float, bar: subprocess.Popen[str]
) -> None:
    said, lost, refused = _followed(call_out(fault, size), 7, bar)
    assert said[-1].startswith("proven")
    assert (lost, refused) == ([], [])


@pytest.mark.full
@pytest.mark.parametrize("number", range(CALLS))
def test_the_line_followed_to_the_letter_costs_nothing_at_many_calls(
    number: int, bar: subprocess.Popen[str]
) -> None:
    _, lost, refused = _followed(study_scenarios(CALLS)[number], 100 + number, bar)
    assert (lost, refused) == ([], [])
