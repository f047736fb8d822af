"""What an answer on a lesson's page may be, by the question it answers. A question that is not known may hold a word.

What a question is called begins with its kind, such as ``read:suction:0``; a kind of ours must be whole.
"""

from __future__ import annotations

import re
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field, TypeAdapter

KEPT = ConfigDict(extra="allow", frozen=True, strict=True, allow_inf_nan=False)
LONGEST_RUN = 86_400.0  # [s] of one run: a page that was left open overnight
_NUMBER = r"(?:0|[1-9]\d{0,3})"
_KEY = r"[a-z][\w-]{0,59}"

Word = Annotated[str, Field(max_length=80)]
Line = Annotated[str, Field(max_length=400)]
Lines = Annotated[list[Annotated[str, Field(max_length=2000)]], Field(max_length=80)]
Seconds = Annotated[float, Field(ge=0.0, le=LONGEST_RUN)]
Rig = Annotated[str, Field(pattern=r"^[a-z][a-z0-9_]{0,39}$")]


class _Kept(BaseModel):
    model_config = KEPT


class Asked(_Kept):
    """An answer to a drill; ``seconds`` [s] from the question to it, ``hints`` steps taken [-]."""

    answer: Annotated[str, Field(min_length=1, max_length=80)]
    right: bool
    skill: Annotated[str, Field(min_length=1, max_length=80)]
    drill: Annotated[str, Field(pattern=rf"^{_KEY}$")]
    case: Line
    hints: Annotated[int, Field(ge=0, le=9)]
    seconds: Seconds
    part: Word


class Reading(_Kept):
    """A gauge that was read: the answer in the units on its face, where the needle stood [Pa]."""

    answer: Annotated[float, Field(ge=-1e6, le=1e6)]
    value: Annotated[float, Field(ge=-1e6, le=1e8)]
    units: Literal["metric", "us"]


class RunSeen(_Kept):
    """A run that was seen: points of time [s] and vacuum [Pa], the prime [s]."""

    points: Annotated[
        list[
            Annotated[
                list[Annotated[float, Field(ge=-1e7, le=1e7)]],
                Field(min_length=2, max_length=2),
            ]
        ],
        Field(max_length=20_000),
    ]
    prime_s: Annotated[float, Field(gt=0.0, le=LONGEST_RUN)] | None
    slow: bool


class SheetForm(_Kept):
    """What was typed on a field sheet."""

    where: Line
    rig: Rig
    vacuum_unit: Word
    motive_unit: Word
    length_unit: Word
    hose: Line
    lift: Line
    altitude: Line
    water: Line
    rows: Annotated[
        list[Annotated[list[Word], Field(min_length=3, max_length=3)]], Field(min_length=1, max_length=20)
    ]
    start: Word
    watched: Line
    primed_at: Line
    seen_at: Line
    looks: Annotated[dict[Word, Word], Field(max_length=200)]
    remarks: Annotated[str, Field(max_length=2000)]


class Suspect(_Kept):
    """One suspect of a field sheet; ``share`` [-]."""

    name: Line
    what: Line
    chance: Line
    share: Annotated[float, Field(ge=0.0, le=1.0)]
    speaks_for: Lines = Field(alias="for")
    speaks_against: Lines = Field(alias="against")


class NextStep(_Kept):
    """What to do next."""

    label: Line
    reason: Annotated[str, Field(max_length=2000)]
    how: Annotated[str, Field(max_length=2000)]
    protects: Annotated[str, Field(max_length=2000)]


class SheetResult(_Kept):
    """What a field sheet came to, in words."""

    form: SheetForm
    made: Word
    fits: bool
    proved: bool
    expected: Annotated[str, Field(max_length=2000)]
    rule: Lines
    suspects: Annotated[list[Suspect], Field(max_length=80)]
    clashes: Lines
    next: NextStep
    left_out: Annotated[str, Field(max_length=2000)]


Guess = Literal["unsure"] | Annotated[float, Field(gt=0.0, le=1800.0)]
#: Kind of a question -> the whole of its name, and what its answer may be.
_KINDS: dict[str, tuple[str, Any]] = {
    **{
        kind: (rf"{kind}:[\w:.-]{{1,80}}", Literal[True]) for kind in ("next", "on", "hint", "fresh", "again")
    },
    "seen": (r"seen:[^\x00-\x1f]{0,80}", Literal[True]),
    "safety": ("safety", Literal[True]),
    "stage": ("stage:fault", Literal[True]),
    "alone": (rf"alone:{_NUMBER}", Annotated[str, Field(pattern=r"^[\w-]{1,64}$")]),
    "read": (rf"read:(?:suction|motive):{_NUMBER}", Reading),
    "run": (r"run:(?:sound|fault)", RunSeen),
    "sheet": (rf"sheet:{_NUMBER}", SheetForm),
    "result": (rf"result:{_NUMBER}", SheetResult),
    "predict": (rf"predict:{_KEY}", Asked),
    "case": (rf"case:[012]:{_NUMBER}", Asked),
    "drills": (rf"drills:{_NUMBER}:{_NUMBER}", Asked),
    "check": (rf"check:{_NUMBER}:{_NUMBER}", Asked),
}
#: Questions with a name of their own, where it says more than the kind.
_NAMED: dict[str, Any] = {
    "guess": Literal["too_small", "right", "too_large", "by_hose"],
    "guess:prime_time": Guess,
    "guess:gauge_arrives": Literal["zero", "height", "all_it_can", "unsure"],
    "guess:lower_pond": Literal["neither", "time_only", "gauge_only", "both", "unsure"],
}
_PICKED = re.compile(rf"check:{_KEY}:{_NUMBER}")  # a question of lesson 01, answered by a word
_PATTERNS = {kind: re.compile(pattern) for kind, (pattern, _) in _KINDS.items()}
_WORD: TypeAdapter[Any] = TypeAdapter(
    Literal[True] | Annotated[str, Field(max_length=400)] | float, config=ConfigDict(strict=True)
)
_READERS: dict[str, TypeAdapter[Any]] = {
    **{kind: TypeAdapter(model) for kind, (_, model) in _KINDS.items()},
    **{f"guess {name}": TypeAdapter(model) for name, model in _NAMED.items()},
}


def check_answer(question: str, answer: Any) -> None:
    """Look an answer over.

    Raises
    ------
    ValueError : its question is not whole, or the answer is of another kind.

    Examples
    --------
    >>> check_answer("seen:ideas", True)
    >>> check_answer("guess", "right")
    >>> check_answer("read:suction:x", True)
    Traceback (most recent call last):
    ValueError: the question 'read:suction:x' is not whole
    """
    kind = question.partition(":")[0]
    if question in _NAMED:
        _READERS[f"guess {question}"].validate_python(answer)
    elif kind in _KINDS and not _PICKED.fullmatch(question):
        if not _PATTERNS[kind].fullmatch(question):
            raise ValueError(f"the question {question[:80]!r} is not whole")
        _READERS[kind].validate_python(answer)
    else:
        _WORD.validate_python(answer)
