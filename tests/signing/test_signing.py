"""Keys and envelopes: RFC 8032, every way of altering one, keys that end, backups, and sentences for what goes wrong."""

from __future__ import annotations

import copy
import json
import os
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from hypothesis import given
from hypothesis import strategies as st

from simulator.errors import InputError
from simulator.signing import Envelope, PublicKey, Ring, TrainerKey, check, seal
from simulator.signing.__main__ import run
from simulator.signing.envelope import written
from simulator.signing.keys import MIN_PASSPHRASE, PRIVATE_FILE, write_private
from simulator.signing.ring import RING_FILE, make_key, rotate

NOW = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)
DAY = timedelta(days=1)
SHEET = {"learner": "Ana Brook", "total": 82.5, "cases": [{"number": 1, "total": 90.0}]}


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    place = tmp_path / "keys"
    monkeypatch.setenv("SIMULATOR_KEY_DIR", str(place))
    return place


def test_the_signature_is_that_of_rfc_8032() -> None:
    # RFC 8032, section 7.1, TEST 2: secret key, public key, message, signature.
    secret = bytes.fromhex("4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb")
    public = "3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c"
    signature = (
        "92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da"
        "085ac1e43e15996e458f3613d0f11d8c387b2eaeb4302aeeb00d291612bb0c00"
    )
    private = Ed25519PrivateKey.from_private_bytes(secret)
    key = TrainerKey(PublicKey("R. Ferrow", NOW.isoformat(), public), private)
    assert key.sign(b"\x72").hex() == signature
    assert key.public.signed(b"\x72", bytes.fromhex(signature))
    assert not key.public.signed(b"\x73", bytes.fromhex(signature))


def test_a_sealed_sheet_is_good_and_travels_as_text(folder: Path) -> None:
    key = make_key("R. Ferrow", NOW)
    sealed = seal(SHEET, "sheet", key, NOW)
    back = Envelope.from_dict(json.loads(json.dumps(sealed.as_dict())))
    verdict = check(back, "sheet", Ring.load())
    assert verdict.good
    assert verdict.name == "R. Ferrow"
    assert "2026-03-02" in verdict.sentence
    assert check(None, "sheet", Ring.load()).sentence == "Practice only, unsigned."


def test_every_single_change_of_a_sealed_sheet_is_seen(folder: Path) -> None:
    key, other = make_key("R. Ferrow", NOW), TrainerKey.make("R. Ferrow", NOW)
    ring, raw = Ring.load(), seal(SHEET, "sheet", key, NOW).as_dict()

    def state(**changed: object) -> str:
        return check(Envelope.from_dict({**copy.deepcopy(raw), **changed}), "sheet", ring).state

    assert state() == "good"
    assert state(content={**SHEET, "total": 82.6}) == "altered"
    assert state(content={**SHEET, "cases": []}) == "altered"
    assert state(content={**SHEET, "more": 1}) == "altered"
    assert state(signed_at=(NOW + DAY).isoformat()) == "altered"
    assert state(kind="pack") == "altered"
    assert state(key=other.public.as_dict()) == "altered"
    assert state(signature="00" * 64) == "altered"
    assert state(signature="not hexadecimal") == "altered"
    assert check(seal(SHEET, "pack", key, NOW), "sheet", ring).state == "altered", "a pack is no sheet"
    forged = seal(SHEET, "sheet", other, NOW)
    assert check(forged, "sheet", ring).state == "unknown_key"
    # the owner's name beside the key is what this ring knows, never what the envelope says
    named = copy.deepcopy(raw)
    named["key"]["name"] = "Somebody Else"
    assert check(Envelope.from_dict(named), "sheet", ring).name == "R. Ferrow"


def test_a_key_replaced_stands_for_what_it_signed_before(folder: Path) -> None:
    old = make_key("R. Ferrow", NOW)
    learner = Ring().trusting(old.public)
    before = seal(SHEET, "sheet", old, NOW + DAY)
    new, note = rotate(NOW + 2 * DAY)
    after = seal(SHEET, "sheet", new, NOW + 3 * DAY)
    late = seal(SHEET, "sheet", old, NOW + 3 * DAY)
    assert check(after, "sheet", learner).state == "unknown_key"
    for ring in (Ring.load(), learner.succeeded(note)):
        assert [check(each, "sheet", ring).state for each in (before, after, late)] == [
            "good",
            "good",
            "retired",
        ]
    loaded = TrainerKey.load()
    assert loaded is not None
    assert loaded.public == new.public


def test_only_a_trusted_key_can_hand_over(folder: Path) -> None:
    key, stranger = make_key("R. Ferrow", NOW), TrainerKey.make("Nobody", NOW)
    note = seal(TrainerKey.make("R. Ferrow", NOW).public.as_dict(), "successor", stranger, NOW)
    with pytest.raises(InputError, match="not trusted"):
        Ring.load().succeeded(note)
    good = seal(stranger.public.as_dict(), "successor", key, NOW).as_dict()
    bad = Envelope.from_dict({**good, "content": TrainerKey.make("X", NOW).public.as_dict()})
    with pytest.raises(InputError, match="altered"):
        Ring.load().succeeded(bad)


@pytest.mark.skipif(os.name != "posix", reason="rights of files are POSIX's")
def test_nobody_else_can_read_the_key(folder: Path) -> None:
    make_key("R. Ferrow", NOW)
    assert folder.stat().st_mode & 0o777 == 0o700
    assert (folder / PRIVATE_FILE).stat().st_mode & 0o777 == 0o600
    (folder / PRIVATE_FILE).chmod(0o644)
    with pytest.raises(InputError, match="others"):
        TrainerKey.load()


def test_a_second_key_does_not_take_the_place_of_the_first(folder: Path) -> None:
    first = make_key("R. Ferrow", NOW)
    with pytest.raises(InputError, match="there already"):
        make_key("Somebody Else", NOW)
    loaded = TrainerKey.load()
    assert loaded is not None
    assert loaded.public == first.public


def test_a_backup_comes_back_on_another_machine(
    folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["make", "R. Ferrow"]) == 0
    kept = tmp_path / "key.backup"
    assert run(["backup", str(kept)], passphrase="h" * (MIN_PASSPHRASE - 1)) == 1
    assert "too short" in capsys.readouterr().err
    assert run(["backup", str(tmp_path / "least.backup")], passphrase="h" * MIN_PASSPHRASE) == 0
    assert run(["backup", str(kept)], passphrase="four brown herons") == 0
    assert b"ENCRYPTED" in kept.read_bytes()
    mine = TrainerKey.load()
    monkeypatch.setenv("SIMULATOR_KEY_DIR", str(tmp_path / "other"))
    assert run(["restore", str(kept)], passphrase="three brown herons") == 1
    assert "not the passphrase" in capsys.readouterr().err
    assert run(["restore", str(kept)], passphrase="four brown herons") == 0
    again = TrainerKey.load()
    assert mine is not None
    assert again is not None
    assert again.public == mine.public


def test_the_public_half_travels_and_is_checked_by_commands(
    folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    run(["make", "R. Ferrow"])
    public, sheet, note = tmp_path / "public.json", tmp_path / "sheet.json", tmp_path / "note.json"
    run(["show", "--out", str(public)])
    key = TrainerKey.load()
    assert key is not None
    sheet.write_text(json.dumps(seal(SHEET, "sheet", key, datetime.now(UTC)).as_dict()), encoding="utf-8")
    assert run(["rotate", str(note)]) == 0
    monkeypatch.setenv("SIMULATOR_KEY_DIR", str(tmp_path / "learner"))
    capsys.readouterr()
    assert run(["check", str(sheet)]) == 1
    assert "not trusted" in capsys.readouterr().out
    assert run(["trust", str(public)]) == 0
    assert run(["check", str(sheet)]) == 0
    assert "Signed by R. Ferrow" in capsys.readouterr().out
    assert run(["follow", str(note)]) == 0
    assert run(["check", str(sheet)]) == 0
    assert run(["drop", key.public.fingerprint]) == 0
    assert run(["check", str(sheet)]) == 1
    assert run(["drop", "0000"]) == 1


@pytest.mark.parametrize(
    "content",
    [
        "",
        "{",
        "[]",
        "null",
        "1e999",
        '{"format": "callout-signed-9"}',
        "[" * 100_000,
        '{"name": 1, "since": 2, "digits": 3}',
    ],
)
def test_a_bad_file_is_a_sentence(
    folder: Path, tmp_path: Path, content: str, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "bad.json"
    path.write_text(content, encoding="utf-8")
    for command in ("check", "trust", "follow", "restore"):
        assert run([command, str(path)], passphrase="four brown herons") == 1
        assert str(path) in capsys.readouterr().err
    assert run(["check", str(tmp_path)]) == 1
    assert run(["check", str(tmp_path / "none")]) == 1


def test_a_damaged_ring_trusts_nobody(
    folder: Path, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    key = make_key("R. Ferrow", NOW)
    path = tmp_path / "sheet.json"
    path.write_text(json.dumps(seal(SHEET, "sheet", key, NOW).as_dict()), encoding="utf-8")
    whole = (folder / RING_FILE).read_text(encoding="utf-8")
    for damage in ("", "{}", whole[:-20], whole.replace("digits", "digit"), "[" * 100_000):
        (folder / RING_FILE).write_text(damage, encoding="utf-8")
        assert run(["check", str(path)]) == 1
        assert "nothing is trusted" in capsys.readouterr().err


def test_a_write_that_fails_leaves_what_was_there(tmp_path: Path) -> None:
    path = tmp_path / "ring"
    write_private(path, b"first")
    with pytest.raises(InputError):
        write_private(path / "inside", b"second", replace=True)
    assert path.read_bytes() == b"first"
    assert [each.name for each in tmp_path.iterdir()] == ["ring"]


PLAIN = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-(2**53), 2**53)
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(), inner, max_size=4),
    max_leaves=20,
)


@given(PLAIN)
def test_content_reads_back_to_the_same_bytes(content: object) -> None:
    assert written(json.loads(written(content).decode("utf-8", "surrogatepass"))) == written(content)


@pytest.mark.parametrize("content", [float("nan"), float("inf"), {1: "x"}, {"x": object()}, {"x": b"y"}])
def test_what_is_not_plain_is_refused(content: object) -> None:
    with pytest.raises(InputError):
        written(content)
