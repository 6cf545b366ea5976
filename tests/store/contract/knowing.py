from datetime import timedelta

from bot.model.event import Began
from bot.model.fact import CaseCleared, CaseOpened, CaseReopened, Corrected, Noted
from bot.model.known import Known, Outcome
from bot.model.person import Invite, digest_of
from bot.store.contract import Store
from tests.store.contract.rooms import StoreRooms, settle, take
from tests.store.samples import (
    ADA,
    BIRCH,
    BO,
    CEDAR,
    NOON,
    NORTH,
    SOUTH,
    TOM,
    arrival,
    chat,
    due,
    entry,
    later,
    wrote,
)

ASKED = CaseOpened(case="c1", klass="question", reasons=("asked",), text="is that right?")

BEFORE_CASE = 60


class KnowingContract(StoreRooms):
    async def test_of_a_stranger_only_the_house_is_known(self, store: Store):
        known = await store.known(wrote("1", at="99"))
        assert known == Known(dealer=NORTH, address=chat("99"), person=None, tub=None, staff=(TOM,))

    async def test_the_same_chat_is_a_stranger_to_the_other_dealer(self, store: Store):
        await store.write([entry("e")])
        assert await store.known(wrote("1", dealer="south")) == Known(
            dealer=SOUTH, address=chat("1"), person=None, tub=None
        )

    async def test_the_tub_s_entries_and_one_s_own_come_oldest_first(self, store: Store):
        await store.put("north", [], [], [("bo", "cedar")])
        await store.write(
            [
                entry("new", at=later(days=2)),
                entry("old", at=later(days=-9)),
                entry("mine", tub=None),
                entry("bo's own", tub=None, person="bo"),
                entry("bo's, of the tub", person="bo", at=later(days=1)),
                entry("of another tub", tub="birch"),
            ]
        )
        known = await store.known(wrote("1"))
        assert [kept.key for kept in known.journal] == ["old", "mine", "bo's, of the tub", "new"]

    async def test_no_more_than_the_newest_two_thousand_entries_are_read(self, store: Store):
        await store.write([entry(f"t{n}", at=NOON + timedelta(minutes=2 * n)) for n in range(1500)])
        await store.write([entry(f"o{n}", tub=None, at=NOON + timedelta(minutes=2 * n + 1)) for n in range(1500)])
        journal = (await store.known(wrote("1"))).journal
        assert len(journal) == 2000
        assert [kept.key for kept in journal[:2]] == ["t500", "o500"]
        assert journal[-1].key == "o1499"

    async def test_the_tub_is_the_one_linked_last(self, store: Store):
        await store.put("north", [], [], [("ada", "birch")])
        known = await store.known(wrote("1"))
        assert (known.tub, known.household) == (BIRCH, (BO, ADA))
        await store.put("north", [], [], [("ada", "cedar")])
        assert (await store.known(wrote("1"))).tub == CEDAR

    async def test_what_fell_due_brings_its_own_tub(self, store: Store):
        await store.put("north", [], [], [("ada", "birch")])
        await settle(store, "1", Outcome(set_dues=(due("d", NOON, tub="cedar"),)))
        await store.ripen(NOON)
        _, known = await take(store)
        assert (known.person, known.tub) == (ADA, CEDAR)

    async def test_due_rows_of_the_person_and_of_the_tub_are_known(self, store: Store):
        mine, ours, other = (
            due("mine", later(days=2), tub=None),
            due("ours", later(days=1), person="bo"),
            due("other", NOON, person="bo", tub="birch"),
        )
        await settle(store, "1", Outcome(set_dues=(mine, ours, other)))
        assert (await store.known(wrote("2"))).dues == (ours, mine)

    async def test_open_cases_are_for_staff_only(self, store: Store):
        await store.write([entry("a", ASKED), entry("b", ASKED.model_copy(update={"case": "c2"}))])
        assert (await store.known(wrote("1"))).cases == ()
        cases = (await store.known(wrote("1", at="3"))).cases
        assert [(case.entry.key, case.owner, case.tub) for case in cases] == [("a", ADA, CEDAR), ("b", ADA, CEDAR)]

    async def test_a_case_cleared_or_corrected_away_is_open_no_more(self, store: Store):
        await store.write([entry(key, ASKED.model_copy(update={"case": key})) for key in ("a", "b", "c")])
        await store.write([entry("x", CaseCleared(case="a", by="staff"), person="tom"), entry("y", Corrected(of="b"))])
        await store.write([entry("again", ASKED.model_copy(update={"case": "a"}), at=later(days=1))])
        cases = (await store.known(wrote("1", at="3"))).cases
        assert [case.entry.key for case in cases] == ["c", "again"]

    async def test_a_case_that_came_back_is_open_with_what_its_tub_went_through(self, store: Store):
        told = [
            entry("older", Noted(text="before")),
            entry("a", ASKED, at=later(minutes=1)),
            entry("x", CaseCleared(case="c1", by="staff"), person="tom", at=later(minutes=2)),
            entry("back", CaseReopened(case="c1", entry="a"), at=later(minutes=3)),
        ]
        await store.write(told)
        (case,) = (await store.known(wrote("1", at="3"))).cases
        assert (case.entry.key, case.journal) == ("a", tuple(told))

    async def test_of_a_long_history_a_case_brings_what_came_since_and_a_little_before(self, store: Store):
        await store.write([entry(f"old{n}", at=later(minutes=-200 + n)) for n in range(100)])
        await store.write([entry("a", ASKED)])
        assert len((await store.known(wrote("1", at="3"))).cases[0].journal) == BEFORE_CASE + 1
        await store.write([entry(f"new{n}", at=later(minutes=n)) for n in range(100)])
        journal = (await store.known(wrote("1", at="3"))).cases[0].journal
        assert [journal[0].key, journal[-1].key, len(journal)] == ["a", "new99", 101]

    async def test_staff_who_are_not_active_are_not_staff(self, store: Store):
        await store.put("north", [TOM.model_copy(update={"standing": "stopped"})], [], [])
        assert (await store.known(wrote("1"))).staff == ()

    async def test_an_invite_of_ours_is_known_with_its_tub_even_when_used(self, store: Store):
        digest = digest_of("another secret")
        invite = Invite(digest=digest, dealer="north", name="Eve", tub="cedar", expires=NOON, used_by="bo")
        await store.put_invite(invite)
        known = await store.known(arrival("1", Began(invite=digest), at="9"))
        assert (known.invite, known.invited_tub) == (invite, CEDAR)
        assert (await store.known(arrival("1", Began(invite=digest), at="9", dealer="south"))).invite is None
        assert (await store.known(arrival("1", Began(invite=digest_of("wrong")), at="9"))).invite is None

    async def test_the_journal_can_be_read_on_from_a_number_and_by_tub_and_person(self, store: Store):
        await store.write([entry("a"), entry("b", tub="birch", person="bo"), entry("c", tub=None), entry("d")])
        numbers = {kept.key: number for number, kept in await store.journal("north")}

        async def keys(**which: object) -> list[str]:
            return [kept.key for _, kept in await store.journal("north", **which)]  # type: ignore[arg-type]

        assert await keys(after=numbers["b"]) == ["c", "d"]
        assert await keys(tub="cedar") == ["a", "d"]
        assert await keys(person="ada") == ["a", "c", "d"]
        assert await keys(person="ada", tub="cedar", after=numbers["a"]) == ["d"]
        assert await store.journal("south") == []

    async def test_an_entry_comes_out_as_it_went_in(self, store: Store):
        sent = entry("a", Corrected(of="x", fact=Noted(text="7,4 \N{BATHTUB}")), at=later(milliseconds=7))
        await store.write([sent])
        assert [kept for _, kept in await store.journal("north")] == [sent]

    async def test_dealers_are_listed_and_changed(self, store: Store):
        assert await store.dealers() == [NORTH, SOUTH]
        changed = SOUTH.model_copy(update={"language": "es"})
        await store.put_dealer(changed)
        assert (await store.known(wrote("1", dealer="south"))).dealer == changed
