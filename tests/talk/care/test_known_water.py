"""What a tub has taught: once its water was tested often, its past narrows what a pad says and how far a dose goes."""

from datetime import timedelta
from typing import Literal

import pytest

from bot.model.fact import Added, CaseOpened, ReadingTaken
from dosing import Said
from tests.talk.world import Actor, World

LOSSY = "fc 1 ph 7.4 ta 80"


def read(owner: Actor, days: float, **values: float) -> None:
    said = {key: Said.value(value) for key, value in values.items()}
    owner.did(ReadingTaken(values=said, method="strip"), ago=timedelta(days=days))


def taught(owner: Actor) -> Actor:
    """A tub that was brought to 6 mg/L every second day and was down to 1 two days later, every time."""
    for days in (8.0, 6.0, 4.0, 2.0):
        read(owner, days, fc=1.0, ph=7.4, ta=80.0)
        grams = {"sodium_hypochlorite": 6.8}
        owner.did(Added(grams=6.8, substances=grams), ago=timedelta(days=days - 0.02))
    return owner


def test_a_tub_that_uses_up_much_is_brought_higher_than_one_that_nobody_knows(world: World) -> None:
    known, unknown = taught(world.owner("Ada")), world.owner("Ben")
    doses = []
    for owner in (known, unknown):
        owner.says(LOSSY)
        assert owner.last.asks == "did.sanitizer"
        assert owner.last.dose
        doses.append(owner.last.dose.grams)
    assert doses[0] > 1.3 * doses[1]


def test_what_the_owner_has_not_got_is_not_named_to_a_tub_that_is_known_either(world: World) -> None:
    ada = taught(world.owner("Ada"))
    ada.says(LOSSY)
    assert ada.last.dose
    first = ada.last.dose.product
    ada.answers("did.sanitizer", "stuck").answers("stuck", "missing")
    assert ada.last.dose
    assert ada.last.dose.product != first


@pytest.mark.parametrize(("klass", "asked"), [("question", "retest"), ("stuck", "retest"), ("water", "fc")])
def test_only_water_that_is_not_fit_is_tested_at_once_after_a_dose_where_it_is_known(
    world: World, klass: Literal["question", "stuck", "water"], asked: str
) -> None:
    ada = taught(world.owner("Ada"))
    ada.did(CaseOpened(case="1", klass=klass, reasons=("asked",)), ago=timedelta(days=1))
    ada.says(LOSSY).answers("did.sanitizer", "done")
    world.passes(minutes=31)
    assert ada.last.asks == asked
