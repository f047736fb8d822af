"""The acts of an attempt as the page lists them: by place, each with its icon, its care, and what to do first."""

from __future__ import annotations

from typing import Any

from simulator.attempt.expert import ACT_FOR
from simulator.attempt.yard import PRECAUTIONS
from simulator.errors import InputError
from simulator.instruments.checks import CHECKS
from simulator.rig.record_files import GROUPS
from simulator.rig.remedies import REMEDIES
from simulator.texts import entry, text

#: Looks that take no tool and not much time: what one does first, anywhere.
QUICK_MINUTES = 3.0
WALK = "walk_round"
#: A handle that looked shut on the walk round is tried by hand: as quick as a look.
TRIED_BY_HAND = ("close_drain", "close_frost_drain")
#: The icon of an act that is neither a check nor work; those name theirs in their records where STEMS does not.
ICONS = {
    "put_on_ppe": "glove",
    "secure_discharge": "rope",
    "isolate_and_tag": "lock",
    "bleed_air": "valve",
    "relieve_line": "drop",
    "vent_hose": "valve",
    "take_rated_plate": "plate",
    "guard_edge": "fence",
    "call_second_person": "people",
    "tie_down_air_line": "rope",
    "untag_and_close_up": "lock",
    "shut_cock": "valve",
    "reopen_cock": "valve",
}
STEMS = {
    "listen": "ear",
    "foam": "foam",
    "open": "valve",
    "close": "valve",
    "clean": "brush",
    "clear": "brush",
    "renew": "swap",
    "swap": "swap",
    "replace": "swap",
    "tighten": "spanner",
}
#: The precaution that gives what another act waits for.
FIRST = {need: act for need, act in ACT_FOR.items() if act in PRECAUTIONS}
FIRST |= dict.fromkeys(("free_to_start_open", "close_up_first"), FIRST["free_to_start"])
FIRST["closed_up_then_tag"] = FIRST["closed_up"]
FIRST |= dict.fromkeys(("second_person_edge", "second_person_pump"), FIRST["second_person"])


def icon_of(name: str) -> str:
    """The icon of an act, by the id of its check, remedy or precaution.

    Parameters
    ----------
    name : of the act.

    Examples
    --------
    >>> icon_of("nrv_lid"), icon_of("clean_nrv"), icon_of("listen_pump"), icon_of("walk_round")
    ('spanner', 'brush', 'ear', 'eye')
    """
    known = CHECKS.get(name) or REMEDIES.get(name)
    found = ICONS.get(name) or (known and known.icon) or STEMS.get(name.partition("_")[0])
    if found:
        return found
    return "spanner" if name in REMEDIES or (name in CHECKS and CHECKS[name].opens) else "eye"


def quick(name: str) -> bool:
    """Whether a check is one of the first looks: no tool, nothing opened, soon done.

    Parameters
    ----------
    name : of the check.

    Examples
    --------
    >>> quick("walk_round"), quick("nrv_lid"), quick("foam_joint")
    (True, False, False)
    """
    check = CHECKS[name]
    spread = check.per_joint or check.per_length
    return (
        not check.opens and check.minutes <= QUICK_MINUTES and not spread and "edge_safe" not in check.needs
    )


def listed(places: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """What can be done, in the order in which a job goes: make safe, look round, then place by place.

    Parameters
    ----------
    places : with what can be done at each, as the attempt's snapshot has them.
    """
    out = []
    walked = any(
        item["times"] for place in places for item in place["items"] if item["args"].get("check") == WALK
    )
    for place in places:
        items = [_item(item, walked) for item in place["items"] if not _nothing_to_close(item)]
        if items:
            out.append({**place, "items": items})
    order = {name: rank for rank, name in enumerate(GROUPS)}
    return sorted(out, key=lambda place: order.get(place["id"], len(order)))


def short_waits(waits: list[str]) -> list[str]:
    """What an act waits for, in the few words that fit under it in a list; a refusal says it in full."""
    few = {text(f"attempt.needs.{need}"): text(f"panel.needs.{need}") for need in entry("panel.needs")}
    return [few.get(sentence, sentence) for sentence in waits]


def first_acts(waits: list[str]) -> list[str]:
    """The acts that bring what an act waits for, so far as there is one."""
    needs = {text(f"attempt.needs.{need}"): act for need, act in FIRST.items()}
    return [needs[sentence] for sentence in waits if sentence in needs]


def _nothing_to_close(item: dict[str, Any]) -> bool:
    return bool(item["action"] == "untag_and_close_up" and item["done"])


def _item(item: dict[str, Any], walked: bool) -> dict[str, Any]:
    name = str(item["args"].get("check") or item["args"].get("remedy") or item["action"])
    more: dict[str, Any] = {
        "icon": icon_of(name),
        "care": item.pop("protects"),
        "quick": (item["kind"] == "check" and quick(name)) or (walked and name in TRIED_BY_HAND),
        "first": first_acts(item["waits"]),
        "waits": short_waits(item["waits"]),
        "opens": item["kind"] == "check" and CHECKS[name].opens,
        "saved": round(item.pop("usual_minutes") - item["minutes"], 2),
    }
    if name in entry("panel.acts.choose"):
        more["choose"] = text(f"panel.acts.choose.{name}")
    place, _, number = str(item["args"].get("place", "")).partition(":")
    if item["kind"] == "remedy":
        what = text(f"remedies.{name}.name")
        more["label"] = what[:1].upper() + what[1:]
    if name == WALK and walked:
        more["label"] = text("panel.acts.walk_again")
    if number:
        more["series"] = name
        more["series_label"] = _series_label(name, item["label"])
        more["short"] = text(f"panel.acts.{place}", n=int(number) + 1)
        more["label"] = item["label"] if item["kind"] == "check" else f"{more['label']} {int(number) + 1}"
    return {**item, **more}


def _series_label(name: str, otherwise: str) -> str:
    try:
        return text(f"panel.acts.series.{name}")
    except (InputError, KeyError):
        return otherwise
