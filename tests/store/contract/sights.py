from bot.model.fact import CaseCleared, CaseOpened, Corrected, Filled, ReadingTaken, Refilled, ReminderAnswered
from bot.model.person import Person
from bot.model.tub import Tub
from bot.store.contract import Store
from dosing import Said
from tests.store.contract.rooms import StoreRooms
from tests.store.samples import ADA, BIRCH, BO, CEDAR, FLO, entry, later

TEST = ReadingTaken(values={"ph": Said.value(7.4)})
SENT = ReminderAnswered(what="test", answer="sent")


class SightsContract(StoreRooms):
    async def test_owners_are_seen_once_for_each_tub_and_staff_and_erased_ones_never(self, store: Store):
        gone = Person(key="gone", dealer="north", standing="erased")
        await store.put("north", [FLO, gone], [BIRCH], [("ada", "cedar"), ("ada", "birch")])
        seen = await store.sights("north")
        assert [(one.person.key, one.tub) for one in seen] == [
            ("ada", BIRCH),
            ("ada", CEDAR),
            ("bo", BIRCH),
            ("flo", None),
        ]
        assert [one.person for one in await store.sights("north", after="ada", limit=1)] == [BO]
        assert await store.sights("north", after="flo") == []

    async def test_of_a_journal_the_newest_test_and_what_changed_the_water_are_seen_as_they_stand(self, store: Store):
        await store.put("north", [ADA], [CEDAR], [("ada", "cedar")])
        wrong = entry("2", TEST, at=later(hours=2))
        refilled = entry("3", Refilled(litres=None), at=later(hours=3))
        await store.write([entry("0", Filled()), entry("1", TEST, at=later(hours=1)), wrong, refilled])
        [seen] = [one for one in await store.sights("north") if one.person == ADA]
        assert [one.key for one in seen.journal] == ["0", "2", "3"]
        assert (seen.heard, seen.first_test) == (later(hours=3), later(hours=1))
        await store.write([entry("4", Corrected(of="2", fact=None), at=later(hours=4))])
        [seen] = [one for one in await store.sights("north") if one.person == ADA]
        assert {"1", "4"} <= {one.key for one in seen.journal}

    async def test_reminders_are_counted_since_the_last_test_and_the_last_answer(self, store: Store):
        await store.put("north", [ADA], [CEDAR], [("ada", "cedar")])
        before = [entry("a", SENT), entry("b", TEST, at=later(hours=1))]
        after = [entry(f"s{day}", SENT, at=later(days=day)) for day in (7, 9, 14)]
        doses = [entry("d", ReminderAnswered(what="dose", answer="later"), at=later(days=15))]
        await store.write([*before, *after, *doses])
        [seen] = [one for one in await store.sights("north") if one.person == ADA]
        assert (seen.unanswered, seen.heard) == (3, later(hours=1))
        await store.write([entry("l", ReminderAnswered(what="test", answer="later"), at=later(days=16))])
        [seen] = [one for one in await store.sights("north") if one.person == ADA]
        assert (seen.unanswered, seen.heard) == (0, later(days=16))

    async def test_open_cases_stand_with_their_owner_until_they_are_cleared(self, store: Store):
        await store.put("north", [ADA], [CEDAR], [("ada", "cedar")])
        await store.write([entry("c", CaseOpened(case="ada-1", klass="danger", reasons=("fumes",)))])
        [seen] = [one for one in await store.sights("north") if one.person == ADA]
        assert [case.entry.key for case in seen.cases] == ["c"]
        await store.write([entry("e", CaseCleared(case="ada-1", by="staff"), at=later(hours=1))])
        assert all(one.cases == () for one in await store.sights("north"))

    async def test_another_dealers_owners_are_not_seen(self, store: Store):
        await store.put("south", [Person(key="sam", dealer="south", name="Sam")], [Tub(key="elm", dealer="south")], [])
        assert "sam" not in {one.person.key for one in await store.sights("north")}
        assert [one.heard for one in await store.sights("south") if one.person.key == "sam"] == [None]
