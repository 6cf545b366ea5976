"""What owners write is understood, answered with what matters first, and dosed by stoichiometry: `owners.toml`."""

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

from bot.model.fact import Added, Filled, StartedUp
from bot.model.message import Dose
from bot.talk.words import catalogue
from dosing import Said
from tests.talk.world import Actor, World, texts

MOST_ANSWERS = 8
GRAMS: Mapping[str, tuple[str, float]] = {
    "fc": ("sodium_dichlor", 255.971 / (2 * 70.906)),
    "br": ("sodium_dichlor", 255.971 / (2 * 159.808)),
    "ta": ("sodium_bicarbonate", 84.006 / 50.0435),
}
"""Grams of pure substance that raise a reading by 1 mg/L in 1,000 L: molar masses, two chlorine (or the bromine that it
sets free) in a dichlor dihydrate, one equivalent in a bicarbonate."""
TOLERANCE = 0.15
"""Rounding to what a spoon can measure, and what the water makes of a dose beside the plain sum."""
ACID_STEP = 25.0 * 1.02
"""Grams of bisulfate in one step of 1,000 L at most, with a rounded spoon."""


@dataclass(frozen=True)
class Owner:
    """One case, as the data file has it."""

    name: str
    text: str
    lang: str = "en"
    volume: float = 1300.0
    sanitizer: str = "chlorine"
    filled: int = 40
    history: tuple[str, ...] = ()
    tells: dict[str, str] = field(default_factory=dict)
    answers: tuple[tuple[str, str], ...] = ()
    heard: dict[str, str] = field(default_factory=dict)
    says: tuple[str, ...] = ()
    never: tuple[str, ...] = ()
    numbers: tuple[str, ...] = ()
    buttons: tuple[str, ...] = ()
    raises: dict[str, tuple[float, float]] = field(default_factory=dict)
    lowers: str = ""
    no_dose: bool = False
    right_volume: float = 0.0
    case: tuple[str, ...] = ()
    open: str | None = None
    asks: str = ""


def _owner(row: dict[str, Any]) -> Owner:
    lists = {key: tuple(value) for key, value in row.items() if isinstance(value, list)}
    return Owner(**{**row, **lists})


OWNERS = [_owner(row) for row in tomllib.loads(Path(__file__).with_name("owners.toml").read_text())["owner"]]


def spoken(key: str, lang: str, text: str) -> bool:
    """Whether the sentence of that key stands in a text, whatever its placeholders are filled with."""
    message = catalogue(lang).get(key)
    assert message, f"the {lang} catalogue has no sentence {key!r}"
    forms = [message.string] if isinstance(message.string, str) else list(message.string)
    return any(
        re.search(".+?".join(re.escape(part) for part in re.split(r"\{\w+\}", form)), text, re.DOTALL) for form in forms
    )


def arrive(world: World, owner: Owner) -> Actor:
    """The owner with tub and past, after writing and answering."""
    world.staff("Tom")
    ada = world.owner(
        "Ada", volume=owner.volume or None, sanitizer=owner.sanitizer, person={"language": owner.lang}, running=False
    )
    ada.did(Filled(), ago=timedelta(days=owner.filled))
    ada.did(StartedUp(), ago=timedelta(days=owner.filled) - timedelta(hours=6))
    for told in owner.history:
        hours, grams, substance = told.split()
        fact = Added(product="dichlor", grams=float(grams), substances={substance: float(grams)})
        ada.did(fact, ago=timedelta(hours=float(hours)))
    ada.says(owner.text)
    for asks, value in owner.answers:
        assert ada.last.asks == asks, f"asked {ada.last.asks!r}, not {asks!r}: {ada.text}"
        ada.answers(asks, value)
    return ada


@pytest.mark.parametrize("owner", OWNERS, ids=[owner.name for owner in OWNERS])
def test_an_owner_is_understood_and_answered(world: World, owner: Owner) -> None:
    ada = arrive(world, owner)
    said = texts(ada.messages)
    assert [key for key in owner.says if not spoken(key, owner.lang, said)] == [], said
    assert [key for key in owner.never if spoken(key, owner.lang, said)] == [], said
    assert [number for number in owner.numbers if not re.search(rf"\b{number}\b", said)] == [], said
    assert [key for key in owner.buttons if not any(spoken(key, owner.lang, label) for label in ada.buttons)] == []
    if owner.heard:
        assert heard(world) == {key: Said.parse(value) for key, value in owner.heard.items()}
    if owner.asks:
        assert ada.last.asks == owner.asks
    if owner.open is not None:
        flows = ada.conversation.flows
        assert (flows[-1].flow if flows else "") == owner.open
    if owner.right_volume:
        assert ada.known.tub
        assert ada.known.tub.volume == pytest.approx(owner.right_volume)


@pytest.mark.parametrize("owner", OWNERS, ids=[owner.name for owner in OWNERS])
def test_a_case_is_opened_for_staff_where_it_must_be_and_nowhere_else(world: World, owner: Owner) -> None:
    arrive(world, owner)
    opened = [(case.klass, reason) for case in world.facts("case") for reason in case.reasons]
    if owner.case:
        assert owner.case in opened
    else:
        assert [klass for klass, _ in opened if klass in ("danger", "question")] == []


@pytest.mark.parametrize("owner", OWNERS, ids=[owner.name for owner in OWNERS])
def test_the_dose_is_that_of_stoichiometry_and_there_is_none_without_cause(world: World, owner: Owner) -> None:
    ada = arrive(world, owner)
    doses = [message.dose for message in ada.messages if message.dose]
    if owner.no_dose:
        assert doses == []
    litres = owner.right_volume or owner.volume
    for key, (low, high) in owner.raises.items():
        substance, each = GRAMS[key]
        wanted = (high - low) * each * litres / 1000.0
        assert doses, texts(ada.messages)
        assert doses[0].substances.get(substance) == pytest.approx(wanted, rel=TOLERANCE)
    if owner.lowers:
        assert doses, texts(ada.messages)
        assert 0 < acid(doses[0]) <= ACID_STEP * litres / 1000.0


def heard(world: World) -> dict[str, Said]:
    """The newest test as recorded, or as told so far where the conversation still asks for more."""
    readings = world.facts("reading")
    if readings:
        return dict(readings[-1].values)
    flow = world.actors["Ada"].conversation.flows[-1]
    told: Any = flow.args["readings"]
    return {key: Said(one["kind"], one["low"], one["high"]) for key, one in told.items()}


def acid(dose: Dose) -> float:
    """Grams of bisulfate in a dose."""
    return dose.substances.get("sodium_bisulfate", 0.0)


def test_there_are_cases_in_every_language_and_harmless_ones_among_them() -> None:
    assert len(OWNERS) >= 60
    assert {owner.lang for owner in OWNERS} == {"en", "es", "fr", "de"}
    assert len({owner.name for owner in OWNERS}) == len(OWNERS)
