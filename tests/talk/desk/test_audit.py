"""Who did what: the dealer asks, and reads names, deeds and days; whoever was erased has no name there any more."""

from collections.abc import Iterator
from datetime import UTC, datetime, time, timedelta

import pytest

from bot.desk.trail import deeds, told, trail_csv
from bot.model.dealer import Quiet
from bot.model.fact import CaseOpened, CaseTaken, Noted
from bot.model.person import Invite, digest_of
from bot.model.sought import Found, Seek
from bot.model.trail import Acted, HouseholdChanged, InvitesIssued, OwnersBrought, RoundOrdered
from bot.talk.words import Words, languages
from tests.store.samples import ADA, BO, CEDAR, TOM, entry
from tests.talk.world import HOUSE, World, texts

NEVER = Quiet(start=time(0), end=time(0))
MORNING = datetime(2027, 3, 1, 12, tzinfo=UTC)


@pytest.fixture
def world() -> Iterator[World]:
    with World(MORNING, quiet=NEVER) as world:
        yield world


def invite(world: World, secret: str) -> None:
    made = Invite(digest=digest_of(secret), dealer=HOUSE, role="technician", name="Tom", expires=MORNING + timedelta(9))
    world.do(world.store.put_invite(made))


def done(world: World) -> str:
    """What the trail says, a deed a line."""
    found = world.do(world.store.look_up(HOUSE, Seek(what="trail")))
    words = Words()
    return "\n".join(f"{words.text(one.who)}: {words.text(one.what)}" for one in deeds(found))


def test_what_the_dealer_s_people_do_is_in_the_trail(world: World) -> None:
    ada, dee = world.owner("Ada"), world.staff("Dee", role="dealer")
    invite(world, "s")
    tom = world.stranger("Tom").opens("s")
    ada.says("person").says("Is the cover warm?")
    tom.taps("Take it").taps("Close it").taps("Solved").taps("Skip")
    dee.says("/team").taps("Remove Tom" if "Remove Tom" in dee.buttons else dee.buttons[0])
    dee.taps(dee.buttons[0])
    said = done(world)
    for line in ("Tom: joined the team", "Tom: took case p-ada-1", "Tom: closed case p-ada-1"):
        assert line in said
    assert "Dee: took out of the team: Tom" in said


def test_what_becomes_of_tubs_and_of_what_is_stored_is_in_the_trail(world: World) -> None:
    ada = world.owner("Ada", model="Model A5")
    bo = world.owner("Bo", tub=ada)
    ada.says("household").taps("Invite somebody")
    bo.says("household").taps("Leave the tub").taps("Leave the tub")
    ada.says("my data")
    said = done(world)
    assert "Ada: made a link to the tub Model A5" in said
    assert "Bo: left the tub Model A5" in said
    assert "Ada: was given what is stored on Ada" in said


def test_who_was_erased_has_no_name_and_what_they_did_stays(world: World) -> None:
    invite(world, "s")
    world.stranger("Tom").opens("s")
    person = next(one for one in world.do(world.store.look_up(HOUSE, Seek(what="team"))).people if one.name == "Tom")
    world.do(world.store.erase(HOUSE, person.key, world.clock.now()))
    said = done(world)
    assert "joined the team" in said
    assert "Tom" not in said
    assert "somebody unnamed" in said


@pytest.mark.parametrize("language", languages())
def test_the_dealer_reads_the_last_month_in_words_and_as_a_table(language: str) -> None:
    with World(MORNING, quiet=NEVER) as world:
        invite(world, "s")
        world.stranger("Tom").opens("s")
        dee = world.staff("Dee", role="dealer", language=language)
        dee.says("/audit")
        [table] = [parcel.made for parcel in world.sent if parcel.made]
        assert table.name == "audit.csv"
        assert b"Tom" in table.content
        assert "Tom" in texts(dee.messages)
        assert "audit." not in texts(dee.messages)
        world.passes(days=31)
        dee.says("/audit")
        assert len([parcel for parcel in world.sent if parcel.made]) == 1


def test_nobody_but_the_dealer_reads_it(world: World) -> None:
    for one in (world.staff("Una"), world.owner("Fay")):
        one.says("/audit").says("audit")
    assert not [parcel for parcel in world.sent if parcel.made]


@pytest.mark.parametrize("language", languages())
def test_every_deed_has_words_in_every_language_and_is_harmless_in_a_spreadsheet(language: str) -> None:
    facts = [
        OwnersBrought(file="=cmd", digest="d", new=1, changed=2, same=0, review=0, rejected=0),
        *(InvitesIssued.model_validate({"what": what, "people": ("ada",)}) for what in ("issued", "withdrawn")),
        *(RoundOrdered.model_validate({"round": "r", "order": o}) for o in ("start", "pause", "resume", "cancel")),
        *(HouseholdChanged.model_validate({"what": what}) for what in ("joined", "left", "took_over")),
        *(Acted.model_validate({"what": what, "about": ("ada", "cedar")}) for what in WHAT),
        Acted(what="invited"),
        CaseOpened(case="c", klass="question", reasons=()),
        CaseTaken(case="c", by="tom"),
    ]
    entries = tuple(entry(f"e{number}", fact, person="tom") for number, fact in enumerate(facts))
    named = TOM.model_copy(update={"name": "=Tom"})
    words = Words(language)
    found = deeds(Found(what="trail", people=(ADA, BO, named), tubs=(CEDAR,), entries=entries))
    assert len(found) == len(facts)
    assert "audit." not in words.text(told(found))
    table = trail_csv(found, words).decode("utf-8-sig")
    assert "'=Tom" in table
    assert table.count("\r\n") == len(facts) + 1
    assert words.text(told([])) != words.text(told(found))


WHAT = ("joined", "removed", "invited", "link", "hand_on_link", "merged", "erased", "exported")


def test_what_is_told_of_the_water_is_no_deed() -> None:
    found = Found(what="trail", entries=(entry("e", Noted(text="x")),))
    assert deeds(found) == []
