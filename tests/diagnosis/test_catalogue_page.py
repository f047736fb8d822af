"""The generated catalogue page, and the trainer's own figures."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from simulator.diagnosis.catalogue import EXAMPLE, check_trainer_file, main, waits_for
from simulator.errors import InputError
from simulator.instruments.checks import CHECKS, check_places
from simulator.rig.faults import FAULTS
from simulator.rig.presets import load_rig, rig_names, standard_site
from simulator.rig.remedies import REMEDIES
from simulator.rig.safe_work import LIGHT_HOSE, conditions, need_key, needs
from simulator.rig.trainer import VARIABLE, names_of
from simulator.texts import text

GOOD = """\
format: trainer-figures
version: 1
weights: {drain_open: 0.4, belt_loose: 0}
minutes: {walk_round: 2, clean_strainer: 10}
thresholds: {proof_factor: 1.5}
"""


def test_the_page_holds_every_fault_check_and_work(tmp_path: Path) -> None:
    out = tmp_path / "catalogue.html"
    assert main(["--out", str(out), "--rig", "reed"]) == 0
    page = out.read_text(encoding="utf-8")
    for name in (*FAULTS, *CHECKS, *REMEDIES):
        assert f"<small>{name}" in page or name in page
    for section in ("faults", "shows", "looks", "works", "matrix", "figures"):
        assert f'<section id="{section}">' in page
    assert "Training aid only" in page


def test_what_shows_a_fault_stands_there_in_a_trainees_words(tmp_path: Path) -> None:
    out = tmp_path / "catalogue.html"
    assert main(["--out", str(out)]) == 0
    page = out.read_text(encoding="utf-8")
    shows = page[page.index('<section id="shows">') : page.index('<section id="looks">')]
    torn = shows[shows.index("<small>joint_ring") :]
    assert "The ring is torn" in torn[: torn.index("</tr>")] or "torn" in torn[: torn.index("</tr>")]
    sound = shows[shows.index("<small>sound") :]
    assert "No look tells it from a good rig" in sound[: sound.index("</tr>")]
    assert "proof_factor" in page


def test_the_example_file_is_good() -> None:
    figures = check_trainer_file(EXAMPLE)
    assert figures.weights
    assert figures.minutes
    assert figures.thresholds


@pytest.mark.parametrize("name", rig_names())
def test_two_people_are_asked_for_where_the_hose_is_heavy_or_at_the_water_and_the_reason_is_that_of_the_place(
    name: str,
) -> None:
    rig, site = load_rig(name), standard_site(name)
    heavy, edge, pump = (text(f"attempt.needs.second_person{end}") for end in ("", "_edge", "_pump"))
    kinds = [("checks", each.id, check_places(each, rig)) for each in CHECKS.values()]
    kinds += [("remedies", each.id, each.places(rig)) for each in REMEDIES.values()]
    for kind, act, places in kinds:
        told = waits_for(kind, act, places, rig, site)
        wanted = {
            need_key("second_person", kind, act, here)
            for here in (conditions(rig, site, place) for place in places or ("",))
            if "second_person" in needs(kind, act, here)
        }
        said = {"second_person": heavy, "second_person_edge": edge, "second_person_pump": pump}
        assert {key for key, sentence in said.items() if sentence in told} == wanted, act
    is_heavy = rig.suction_hose.bore > LIGHT_HOSE
    assert (heavy in waits_for("checks", "blank_off", ("suction_flange",), rig, site)) is is_heavy
    assert heavy not in waits_for("checks", "dip_water", ("water",), rig, site)  # nobody lifts a hose to dip
    assert edge in waits_for("checks", "dip_water", ("water",), rig, site)


@pytest.mark.full
def test_a_trainers_file_changes_weights_minutes_and_thresholds(tmp_path: Path) -> None:
    """In a process of its own; ``tests/panels/trainer/test_figures.py`` asks it of a file that its desk saved."""
    path = tmp_path / "figures.yaml"
    path.write_text(GOOD, encoding="utf-8")
    assert check_trainer_file(path).weights["drain_open"] == 0.4
    code = (
        "import sys\n"
        "from simulator.rig.faults import FAULTS\n"
        "from simulator.rig.remedies import REMEDIES\n"
        "from simulator.instruments.checks import CHECKS\n"
        "from simulator.run.outcome import proof_limit\n"
        "sys.stdout.write(repr((FAULTS['drain_open'].weight, CHECKS['walk_round'].minutes,\n"
        "    REMEDIES['clean_strainer'].minutes, proof_limit(40.0))))\n"
    )
    env = {**os.environ, VARIABLE: str(path)}
    done = subprocess.run([sys.executable, "-c", code], env=env, capture_output=True, text=True, check=True)
    assert done.stdout == "(0.4, 2.0, 10.0, 75.0)"


@pytest.mark.parametrize(
    ("line", "instead", "sentence"),
    [
        (
            "drain_open: 0.4",
            "drain_opn: 0.4",
            "line 3, weights.drain_opn: there is no 'drain_opn'; did you mean 'drain_open'",
        ),
        ("walk_round: 2", "walk_round: -2", "line 4, minutes.walk_round: walk_round is -2. Legal: 0 to 240"),
        ("walk_round: 2", "walk_around: 2", "did you mean 'walk_round'"),
        ("proof_factor: 1.5", "proof_factor: much", "proof_factor is 'much'. Legal: 1 to 3"),
        ("proof_factor: 1.5", "proof: 1.5", "there is no 'proof'"),
        (
            "drain_open: 0.4, belt_loose: 0",
            ", ".join(f"{name}: 0" for name in names_of("weights") if name != "sound"),
            "no weight is above 0",
        ),
        (
            "weights:",
            "wheights:",
            "'wheights' is not a key of this file. Legal: weights, minutes, thresholds",
        ),
        ("trainer-figures", "pump-rig", "this is another kind of file"),
    ],
)
def test_what_does_not_fit_is_told_in_a_sentence(
    tmp_path: Path, line: str, instead: str, sentence: str
) -> None:
    path = tmp_path / "figures.yaml"
    path.write_text(GOOD.replace(line, instead), encoding="utf-8")
    with pytest.raises(InputError) as caught:
        check_trainer_file(path)
    assert sentence in str(caught.value)
    assert main(["--out", str(tmp_path / "no.html"), "--figures", str(path)]) == 1
    assert not (tmp_path / "no.html").exists()
