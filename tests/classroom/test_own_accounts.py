"""Accounts of their own for learners: what is opened to all, what is shut, and what is said where it cannot be had."""

from __future__ import annotations

import os
import stat
import subprocess
from pathlib import Path
from types import SimpleNamespace

import pytest

from simulator.classroom import own_accounts
from simulator.classroom.capacity import carried
from simulator.errors import InputError
from simulator.texts import text

pytestmark = pytest.mark.skipif(os.name == "nt", reason="no class is opened on Windows")


def rights(path: Path) -> str:
    return stat.filemode(path.stat().st_mode)


def test_the_program_is_opened_to_read_and_what_holds_answers_is_shut(tmp_path: Path) -> None:
    program, answers = tmp_path / "program", tmp_path / "program" / "answers"
    answers.mkdir(parents=True)
    for name, mode in (("tool", 0o700), ("text", 0o600), ("answers/bank", 0o644)):
        (program / name).write_text("x")
        (program / name).chmod(mode)
    (program / "link").symlink_to(tmp_path / "nowhere")
    program.chmod(0o700)
    own_accounts.open_to_all([program])
    own_accounts.shut_to_others([answers, program / "answers" / "bank", tmp_path / "none"])
    own_accounts.let_enter(tmp_path)
    assert rights(program) == "drwxr-xr-x"
    assert rights(program / "tool") == "-rwxr-xr-x"
    assert rights(program / "text") == "-rw-r--r--"  # to read, and to nobody else to change
    assert rights(answers) == "drwx------"
    assert rights(program / "answers" / "bank") == "-rw-------"
    assert stat.S_IMODE(tmp_path.stat().st_mode) & 0o011 == 0o011


@pytest.mark.parametrize(
    ("system", "tools", "user", "said"),
    [
        ("darwin", True, 0, "not_here"),
        ("linux", False, 0, "not_here"),
        ("linux", True, 1000, "not_root"),
        ("linux", True, 0, ""),
    ],
)
def test_where_it_cannot_be_had_a_sentence_says_so(
    system: str, tools: bool, user: int, said: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(own_accounts.sys, "platform", system)
    monkeypatch.setattr(own_accounts.shutil, "which", lambda tool: tool if tools else None)
    monkeypatch.setattr(own_accounts.os, "geteuid", lambda: user)
    assert own_accounts.why_not() == (text(f"classroom.accounts.{said}") if said else "")


@pytest.mark.parametrize(("whose", "uid"), [("The Miller", 1000), (own_accounts.OURS, 0)])
def test_an_account_that_is_none_of_ours_is_neither_used_nor_taken_away(
    whose: str, uid: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    import pwd

    theirs = SimpleNamespace(pw_name="class-learner-1", pw_gecos=whose, pw_uid=uid, pw_dir="/nowhere")
    monkeypatch.setattr(pwd, "getpwnam", lambda name: theirs)
    done: list[object] = []
    monkeypatch.setattr(subprocess, "run", lambda *asked, **how: done.append(asked))
    with pytest.raises(InputError, match="is none of a learner's"):
        own_accounts.local_account("learner-1")
    own_accounts.remove_account("learner-1")
    assert done == []


def test_an_account_that_cannot_be_made_is_a_sentence(monkeypatch: pytest.MonkeyPatch) -> None:
    failed = SimpleNamespace(returncode=1, stderr="useradd: the list of accounts is locked", stdout="")
    monkeypatch.setattr(own_accounts.subprocess, "run", lambda *asked, **how: failed)
    with pytest.raises(InputError, match="the list of accounts is locked"):
        own_accounts.local_account("learner-no-such")


def test_a_machine_carries_fewer_where_nothing_is_shared() -> None:
    assert 1 <= carried(24e9, own_accounts=True) < carried(24e9)
