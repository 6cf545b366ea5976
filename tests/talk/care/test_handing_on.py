"""A tub is sold or moved: its water's history goes with it, everything personal of those who had it does not."""

import re
from collections.abc import Iterator
from datetime import UTC, datetime, time, timedelta

import pytest

from bot.model.dealer import Quiet
from bot.model.fact import CaseCleared, CaseOpened, Noted, ReadingTaken, Told
from bot.talk.words import languages
from dosing import Said
from tests.talk.world import Actor, World, texts

NEVER = Quiet(start=time(0), end=time(0))
NOON = datetime(2027, 3, 1, 12, tzinfo=UTC)
TESTED = ReadingTaken(values={"fc": Said.value(3), "ph": Said.value(7.4), "ta": Said.value(80)})
SECRETS = ("quince", "feverish", "Adaline", "Bodo")


@pytest.fixture
def world() -> Iterator[World]:
    with World(NOON, quiet=NEVER) as world:
        yield world


def family(world: World) -> tuple[Actor, Actor]:
    """Adaline and Bodo with a tub of some past, personal things among it."""
    ada = world.owner("Adaline", bathers=4)
    bodo = world.owner("Bodo", tub=ada)
    ada.did(TESTED, ago=timedelta(days=3))
    ada.did(Noted(text="under the quince tree"), ago=timedelta(days=3))
    ada.did(Told(about="tub", values={"name": "Adaline's"}), ago=timedelta(days=3))
    ada.did(CaseOpened(case="h", klass="danger", reasons=("fever",), text="feverish"), ago=timedelta(days=2))
    ada.did(CaseCleared(case="h", by="staff", note="feverish"), ago=timedelta(days=1))
    ada.did(CaseOpened(case="q", klass="stuck", reasons=("heater",), text="quince"), ago=timedelta(days=2))
    ada.did(CaseCleared(case="q", by="staff", note="quince"), ago=timedelta(days=1))
    return ada, bodo


def link_for(actor: Actor) -> str:
    found = re.findall(r"rehearsal:(\S+)", texts(actor.messages))
    return str(found[-1])


def handed_on(world: World) -> tuple[Actor, Actor, Actor]:
    ada, bodo = family(world)
    ada.says("i sold the tub").taps("Make the link")
    return ada, bodo, world.stranger("Eve").opens(link_for(ada))


def test_the_new_owner_has_the_tub_alone_with_its_history_and_nothing_personal(world: World) -> None:
    ada, bodo, eve = handed_on(world)
    assert [one.name for one in eve.known.household] == ["Eve"]
    tub = eve.known.tub
    assert tub
    assert (tub.key, tub.volume, tub.bathers, tub.name) == ("t-adaline", 1300.0, None, "")
    facts = [entry.fact for entry in eve.known.journal]
    assert TESTED in facts
    assert {"fill", "started", "case", "cleared"} <= {fact.kind for fact in facts}
    assert not [fact for fact in facts if getattr(fact, "case", "") == "h"]
    whole = " ".join(entry.model_dump_json() for entry in eve.known.journal) + tub.model_dump_json()
    assert not [secret for secret in SECRETS if secret in whole]
    assert not {entry.person for entry in eve.known.journal} & {ada.person.key, bodo.person.key}


def test_those_who_had_it_are_told_and_hear_no_more_of_it(world: World) -> None:
    ada, bodo, _ = handed_on(world)
    for one in (ada, bodo):
        assert "has a new owner now" in one.text
        assert one.known.tub is None
    before = len(ada.messages), len(bodo.messages)
    world.passes(days=12)
    assert (len(ada.messages), len(bodo.messages)) == before


def test_the_others_are_told_when_the_link_is_made_and_all_stays_until_it_is_used(world: World) -> None:
    ada, bodo = family(world)
    ada.says("i sold the tub").taps("Make the link")
    assert "Adaline has made a link" in bodo.text
    world.passes(days=8)
    eve = world.stranger("Eve").opens(link_for(ada))
    assert eve.known.person is None
    assert [one.name for one in ada.known.household] == ["Adaline", "Bodo"]


def test_a_link_that_somebody_got_before_lets_nobody_in_afterwards(world: World) -> None:
    ada, _ = family(world)
    ada.says("household").taps("Invite somebody")
    old = link_for(ada)
    ada.says("i sold the tub").taps("Make the link")
    world.stranger("Eve").opens(link_for(ada))
    assert world.stranger("Mal").opens(old).known.person is None


def test_what_was_open_about_it_is_closed_for_those_who_had_it(world: World) -> None:
    ada, bodo = family(world)
    bodo.says("test")
    ada.says("i sold the tub").taps("Make the link")
    eve = world.stranger("Eve").opens(link_for(ada))
    before = len(eve.known.journal)
    bodo.says("fc 3 ph 7.4 ta 80")
    assert "on no tub" in bodo.text
    assert bodo.conversation.flows == ()
    assert len(eve.known.journal) == before


def test_while_a_case_is_open_it_goes_to_nobody(world: World) -> None:
    ada, _ = family(world)
    world.staff("Tom")
    ada.says("person").says("Is the cover warm?")
    ada.taps_data("1c.hand_on")
    assert "still open" in ada.text


def test_an_owner_who_has_a_tub_can_take_over_another(world: World) -> None:
    ada, _ = family(world)
    zoe = world.owner("Zoe")
    ada.says("i sold the tub").taps("Make the link")
    zoe.opens(link_for(ada))
    assert {tub.key for tub in zoe.known.tubs} == {"t-zoe", "t-adaline"}
    assert ada.known.tub is None


def test_the_dealer_hands_a_tub_on_from_the_owner_s_card(world: World) -> None:
    ada, _ = family(world)
    dee = world.staff("Dee", role="dealer")
    dee.taps_data("1p.p-adaline.card").taps("New owner").taps("Make the link")
    eve = world.stranger("Eve").opens(link_for(dee))
    assert [one.name for one in eve.known.household] == ["Eve"]
    assert ada.known.tub is None


@pytest.mark.parametrize("language", languages())
def test_it_is_said_in_every_language(language: str) -> None:
    with World(NOON, quiet=NEVER) as world:
        ada = world.owner("Ada", person={"language": language})
        ada.taps_data("1c.hand_on").answers("hand_on", "yes")
        dee = world.staff("Dee", role="dealer", language=language)
        dee.taps_data("1p.p-ada.card").taps_data("1p.p-ada.hand_on").answers("hand_on", "yes")
        world.stranger("Eve").opens(link_for(dee))
        said = texts([*ada.messages, *dee.messages])
        assert "hand_on." not in said
        assert all(len(button.label) <= 20 for one in dee.messages for row in one.buttons for button in row)
