from json import dumps

from bot.model.fact import CaseNoted, CaseOpened, CaseSaid, Noted
from bot.model.known import Outcome
from bot.store.contract import Store
from bot.store.sql.about import OF_NOBODY, QUERIES
from bot.store.sql.move import tables
from tests.store.contract.erasing import SECRET, live
from tests.store.contract.rooms import StoreRooms, settle
from tests.store.samples import BO, NOON, TOM, entry


class AboutContract(StoreRooms):
    async def test_everything_in_which_a_person_left_a_trace_is_handed_over(self, store: Store):
        await live(store)
        told = await store.about("north", "ada")
        assert told is not None
        traces = {table for table, rows in told.items() if SECRET in dumps(rows)}
        assert traces >= {"people", "invites", "journal", "conversations", "inbox", "outbox"}
        assert told["dues"]
        assert told["links"] == [{"tub": "cedar"}]
        assert told["tubs"]

    async def test_what_staff_said_about_a_case_is_handed_over_and_what_others_in_the_household_wrote_is_not(
        self, store: Store
    ):
        await store.put("north", [TOM, BO], [], [("bo", "cedar")])
        entries = (
            entry("case", CaseOpened(case="c", klass="question", reasons=("asked",), text="why")),
            entry("said", CaseSaid(case="c", side="staff", text="a look tomorrow"), person="tom"),
            entry("note", CaseNoted(case="c", text="calls often"), person="tom"),
            entry("bo's", Noted(text="surprise party"), person="bo"),
            entry("case of bo", CaseOpened(case="d", klass="question", reasons=("asked",)), person="bo"),
            entry("to bo", CaseSaid(case="d", side="staff", text="between us"), person="tom"),
        )
        await settle(store, "1", Outcome(entries=entries))
        text = dumps(await store.about("north", "ada"))
        assert "a look tomorrow" in text
        assert "calls often" in text
        assert "surprise party" not in text
        assert "between us" not in text

    async def test_the_digest_of_an_invite_is_handed_to_nobody(self, store: Store):
        await live(store)
        assert "digest" not in dumps(await store.about("north", "ada"))

    async def test_nobody_and_another_dealer_s_person_have_nothing(self, store: Store):
        assert await store.about("north", "nobody") is None
        assert await store.about("south", "ada") is None

    async def test_once_erased_outside_a_conversation_nothing_of_them_is_left_to_hand_over(self, store: Store):
        await live(store)
        await store.erase("north", "ada", NOON)
        told = await store.about("north", "ada")
        assert told is not None
        assert [table for table, rows in told.items() if rows] == ["people"]
        assert SECRET not in dumps(told)

    async def test_every_table_is_handed_over_or_said_to_hold_nothing_of_one_person(self, store: Store):
        assert {table.name for table in tables()} == QUERIES.keys() | OF_NOBODY.keys()
