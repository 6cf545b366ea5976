from datetime import timedelta

from bot.model.fact import CaseOpened, CaseSaid, Noted
from bot.model.person import Person
from bot.model.sought import Seek
from bot.model.trail import Acted, HouseholdChanged
from bot.store.contract import Store
from tests.store.contract.rooms import StoreRooms
from tests.store.samples import ADA, BIRCH, BO, CEDAR, NOON, TOM, chat, entry, later

ASKED = CaseOpened(case="c1", klass="question", reasons=(), text="is that right?")


class SeekingContract(StoreRooms):
    async def test_owners_are_found_by_a_piece_of_their_name_in_whatever_case(self, store: Store):
        zoe = Person(key="zoe", dealer="north", name="ZOË Quill", address=chat("20"))
        await store.put("north", [zoe], [BIRCH], [("zoe", "birch"), ("ada", "cedar")])
        found = await store.look_up("north", Seek(what="owners", words="zoë q"))
        assert [person.key for person in found.people] == ["zoe"]
        assert found.tubs == (BIRCH,)
        assert found.links == (("zoe", "birch"),)
        assert TOM not in (await store.look_up("north", Seek(what="owners"))).people

    async def test_the_team_is_found_with_those_whom_nothing_reaches(self, store: Store):
        una = Person(key="una", dealer="north", name="Una", role="technician", standing="blocked", address=chat("21"))
        ex = Person(key="ex", dealer="north", role="technician", standing="erased")
        await store.put("north", [una, ex], [], [])
        found = await store.look_up("north", Seek(what="team"))
        assert [person.key for person in found.people] == ["tom", "una"]

    async def test_cases_are_found_whether_open_or_not_with_who_and_what_they_name(self, store: Store):
        await store.write(
            [
                entry("a", ASKED),
                entry("b", Noted(text="no case")),
                entry("c", CaseSaid(case="c1", side="staff", text="yes"), person="tom", at=later(hours=1)),
            ]
        )
        found = await store.look_up("north", Seek(what="cases", since=NOON))
        assert [one.key for one in found.entries] == ["a", "c"]
        assert set(found.people) == {ADA, TOM}
        assert found.tubs == (CEDAR,)
        assert (await store.look_up("north", Seek(what="cases", since=later(days=1)))).entries == ()

    async def test_another_dealer_finds_nothing(self, store: Store):
        await store.write([entry("a", ASKED)])
        assert (await store.look_up("south", Seek(what="cases"))).entries == ()
        assert (await store.look_up("south", Seek(what="owners"))).people == ()
        assert BO not in (await store.look_up("south", Seek(what="team"))).people

    async def test_one_owner_is_found_with_their_tub_its_journal_and_everybody_on_it(self, store: Store):
        await store.put("north", [ADA, BO], [CEDAR], [("ada", "cedar"), ("bo", "cedar")])
        await store.write([entry("a", ASKED)])
        found = await store.look_up("north", Seek(what="owner", words="ada"))
        assert found.people == (ADA, BO)
        assert found.tubs == (CEDAR,)
        assert [one.key for one in found.entries] == ["a"]
        for stranger in ("tom", "nobody"):
            assert (await store.look_up("north", Seek(what="owner", words=stranger))).people == ()
        assert (await store.look_up("south", Seek(what="owner", words="ada"))).people == ()

    async def test_the_trail_has_who_did_what_since_a_time_and_loses_no_deed_with_the_person(self, store: Store):
        merged = Acted(what="merged", about=("ada", "bo"))
        deeds = [
            entry("early", merged, tub=None, person=TOM.key, at=NOON - timedelta(days=2)),
            entry("deed", merged, tub=None, person=TOM.key),
            entry("left", HouseholdChanged(what="left")),
            entry("water"),
            entry("own", tub=None, person=TOM.key),
        ]
        await store.write(deeds)
        found = await store.look_up("north", Seek(what="trail", since=NOON))
        assert [(one.key, one.person) for one in found.entries] == [("deed", TOM.key), ("left", "ada")]
        assert {one.key for one in found.people} >= {TOM.key, "ada", "bo"}
        await store.erase("north", TOM.key, NOON)
        found = await store.look_up("north", Seek(what="trail"))
        assert [(one.key, one.person) for one in found.entries] == [("early", None), ("deed", None), ("left", "ada")]
        assert TOM.key not in {one.key for one in found.people}
        assert "own" not in {one.key for _, one in await store.journal("north")}
        assert (await store.look_up("south", Seek(what="trail"))).entries == ()
