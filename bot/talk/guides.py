"""What is asked first of each symptom, what each answer means, and what else is usual. Data; `flows/symptom.py` talks.

Causes and their order: standards of public pools and spas on clarity and slime, the rest common practice.
"""

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Literal

from bot.talk.understand import normalise
from bot.talk.understand.normalise import bare
from bot.talk.understand.words import table

Way = Literal["look", "test", "refill", "person", "danger", "end", "other"]
"""What an answer leads to: the usual causes and what to do; a test at once; a change of water; a person; a red flag;
an end, because nothing is wrong; another symptom's conversation."""


@dataclass(frozen=True, slots=True)
class Answer:
    """An answer to the first question. `flag` names the red flag, or the other symptom."""

    key: str
    way: Way
    flag: str = ""
    number: int = 0


@dataclass(frozen=True, slots=True)
class Guide:
    """One symptom: the answers to its first question, the usual causes, whether a test of the water decides, and after
    how many hours to look again.
    """

    answers: tuple[Answer, ...] = ()
    causes: tuple[str, ...] = ()
    test: bool = False
    hours: float = 24.0


def _danger(key: str, flag: str, number: int) -> Answer:
    return Answer(key, "danger", flag, number)


GUIDES: Mapping[str, Guide] = {
    "cloudy": Guide(
        (Answer("floor", "look"), Answer("no_floor", "test", "cannot_see_floor"), Answer("jets_only", "end")),
        ("added", "sanitizer_low", "filter", "ph_high", "alkalinity_high", "hard_water", "bathers", "old_water"),
        test=True,
        hours=48,
    ),
    "foam": Guide(
        (Answer("soap", "refill"), Answer("no_soap", "look")),
        ("old_water", "lotion", "soft_water", "sanitizer_low", "filter", "bathers"),
        test=True,
        hours=48,
    ),
    "smell": Guide(
        (Answer("sharp", "test"), Answer("musty", "refill", "slime"), Answer("eggs", "look"),
         _danger("burning", "burning", 2)),
        ("well", "minerals", "sanitizer_low", "old_water"),
        test=True,
    ),
    "green": Guide(
        (Answer("see_through", "look"), Answer("hazy", "refill", "no_sanitizer")),
        ("new_water", "well", "ph_low", "copper"),
        test=True,
        hours=48,
    ),
    "brown": Guide((), ("well", "new_water", "iron", "copper"), test=True, hours=48),
    "slime": Guide((), ("sanitizer_low", "old_water", "pipes"), hours=48),
    "flakes": Guide((Answer("soft", "refill", "flakes"), Answer("hard", "test"), Answer("black", "look")),
                    ("well", "minerals", "pipes"), test=True, hours=48),
    "scale": Guide(
        (Answer("noisy", "person"), Answer("quiet", "look")),
        ("ph_high", "alkalinity_high", "hard_water"),
        test=True,
        hours=48,
    ),
    "rash": Guide((_danger("grave", "rash_worse", 10), Answer("mild", "test")), test=True),
    "eyes": Guide((_danger("grave", "eye", 7), Answer("mild", "test")), test=True),
    "no_heat": Guide(
        (Answer("eco", "look"), Answer("code", "other", "error_code"), Answer("blank", "person"),
         Answer("plain", "look")),
        ("eco", "filter", "level", "cover"),
        hours=6,
    ),
    "breaker": Guide((_danger("again", "breaker_again", 1), Answer("once", "look")), hours=24),
    "no_flow": Guide((Answer("low", "look"), Answer("full", "look")), ("level", "filter", "valves", "air"), hours=3),
    "air_lock": Guide((), ("air",), hours=1),
    "too_hot": Guide((_danger("over", "over_40", 4), Answer("under", "look")), ("eco", "sensor"), hours=3),
    "water_loss": Guide((Answer("wet", "person"), Answer("dry", "look")), ("splash", "drain"), hours=24),
    "noise": Guide(
        (Answer("hum", "other", "air_lock"), Answer("gurgle", "look"), Answer("rumble", "person"),
         Answer("grind", "person")),
        ("level", "filter", "air"),
        hours=3,
    ),
    "sanitizer_vanishes": Guide(
        (Answer("nobody", "refill", "slime"), Answer("somebody", "look"), Answer("unsure", "look")),
        ("bathers", "filter", "pipes", "old_water", "strip"),
        test=True,
    ),
    "waterline": Guide((), ("lotion", "bathers", "sanitizer_low"), test=True, hours=48),
    "error_code": Guide((Answer("flow", "look"), Answer("heat", "person"), Answer("unsure", "look")),
                        ("level", "filter", "air"), hours=3),
    "cover_lock": Guide((_danger("children", "cover_lock", 16), Answer("none", "look")), hours=24),
    "bad_source": Guide((), (), test=True, hours=24),
    "power_cut": Guide((Answer("frost", "person"), Answer("mild", "look")), (), hours=3),
    "bleached": Guide((), (), test=True, hours=24),
    "air_bubbles": Guide((), (), hours=24),
}  # fmt: skip
"""By the symptom's code, as `understand.SYMPTOMS` has it."""
NEAR_DANGER = frozenset({"rash", "eyes", "smell", "breaker", "too_hot"})
"""Symptoms of bodies, current and heat: their first question carries the one tap for danger."""
_DENIAL_REACH = 5
_BELOW_ZERO = re.compile(r"(?<![\d.,-])-\s?\d{1,2}\b")


@cache
def _told() -> Mapping[str, Mapping[str, re.Pattern[str]]]:
    told = tomllib.loads(files("bot.talk").joinpath("told.toml").read_text(encoding="utf-8"))
    return {
        what: {
            answer: re.compile(r"(?<!\w)(?:" + "|".join(re.escape(words) for words in group) + r")(?!\w)")
            for answer, group in answers.items()
        }
        for what, answers in told.items()
    }


@cache
def _negation() -> Mapping[str, frozenset[str]]:
    return {name: frozenset(map(bare, words)) for name, words in table("negation").items()}


def _denied(before: str) -> bool:
    """Whether the words before something, in its own clause, take it back."""
    clause = " " + " ".join(re.findall(r"\w+", re.split(r"[.,!?;\n]", before)[-1])) + " "
    for phrase in _negation()["only_look_so"]:
        clause = clause.replace(f" {phrase} ", " ")
    near = clause.split()[: -_DENIAL_REACH - 1 : -1]
    for word in near:
        if word in _negation()["negators"]:
            return True
        if word in _negation()["reach_ends"]:
            return False
    return False


def told_answer(what: str, text: str) -> Answer | None:
    """The answer to a symptom's first question that the text gave already; None where it gave none, or several. What is
    denied (`no soap`) is no answer, or the opposite one (`no_soap`).
    """
    plain = bare(normalise(text)).replace("'", "") + " "
    found_at = [
        (key, _denied(plain[: hit.start()]))
        for key, words in _told().get(what, {}).items()
        for hit in words.finditer(plain)
    ]
    keys = {key for key, denied in found_at if not denied}
    keys |= {f"no_{key}" for key, denied in found_at if denied and key not in keys}
    if what == "power_cut" and _BELOW_ZERO.search(plain):
        keys.add("frost")
    found = [answer for answer in GUIDES[what].answers if answer.key in keys]
    return found[0] if len(found) == 1 else None
