"""What the dealer's desk needs of a store: all owners, changes to what is still as it was read, invites, memory."""

import pytest

from bot.model.fact import Noted
from bot.model.known import Outcome
from bot.model.person import Invite, Person, digest_of
from bot.store.contract import Conflict, Store
from tests.store.contract.rooms import StoreRooms, settle
from tests.store.samples import ADA, BIRCH, BO, CEDAR, FLO, NOON, entry, later


class DeskContract(StoreRooms):
    async def test_owners_come_in_pages_with_their_tubs_the_newest_first(self, store: Store):
        await store.put("north", [], [], [("ada", "birch")])
        first = await store.owners("north", limit=2)
        assert [(owned.person.key, owned.tubs) for owned in first] == [("ada", (BIRCH, CEDAR)), ("bo", (BIRCH,))]
        assert [(owned.person, owned.tubs) for owned in await store.owners("north", after="bo")] == [(FLO, ())]
        assert await store.owners("south") == []

    async def test_what_is_as_it_was_read_is_changed_and_written_down(self, store: Store):
        renamed = ADA.model_copy(update={"name": "Ada Berg", "phones": ("+4712345678",)})
        new = Person(key="new", dealer="north", name="New")
        measured = CEDAR.model_copy(update={"volume": 1250.0})
        await store.bring_in(
            "north", [(ADA, renamed), (None, new)], [(CEDAR, measured)], [("new", "birch")], [entry("e")]
        )
        owned = {one.person.key: one for one in await store.owners("north")}
        assert owned["ada"] == (renamed, (measured,))
        assert owned["new"] == (new, (BIRCH,))
        assert [one.key for _, one in await store.journal("north")] == ["e"]

    @pytest.mark.parametrize("before", [None, ADA.model_copy(update={"name": "Somebody"})])
    async def test_what_has_changed_since_it_was_read_changes_nothing_at_all(self, store: Store, before: Person | None):
        measured = CEDAR.model_copy(update={"volume": 1250.0})
        with pytest.raises(Conflict):
            await store.bring_in("north", [(BO, BO), (before, ADA)], [(CEDAR, measured)], [], [entry("e")])
        with pytest.raises(Conflict):
            await store.bring_in("north", [(FLO, FLO.model_copy(update={"name": "F"}))], [(None, CEDAR)], [], [])
        assert [owned.person for owned in await store.owners("north")] == [ADA, BO, FLO]
        assert await store.journal("north") == []

    async def test_open_invites_are_those_for_people_in_the_books_that_nobody_used(self, store: Store):
        def invite(secret: str, person: str | None, used_by: str | None = None) -> Invite:
            return Invite(
                digest=digest_of(secret), dealer="north", expires=later(days=1), person=person, used_by=used_by
            )

        await store.put_invites([invite("a", "flo"), invite("b", None), invite("c", "bo", "bo")])
        assert await store.open_invites("north") == [invite("a", "flo")]
        assert await store.open_invites("south") == []

    async def test_what_is_remembered_is_the_last_value_of_that_name(self, store: Store):
        assert await store.memory("north", "models") is None
        await store.remember("north", "models", {"Mod. A-5": "Model A5"})
        await store.remember("north", "models", {"Mod. A-5": "A5"})
        assert await store.memory("north", "models") == {"Mod. A-5": "A5"}
        assert await store.memory("south", "models") is None

    async def test_erasing_somebody_takes_their_invites_and_numbers_with_them(self, store: Store):
        flo = FLO.model_copy(update={"phones": ("+4712345678",), "email": "flo@example.com", "note": "gate code 12"})
        await store.put("north", [flo], [], [])
        await store.put_invites([Invite(digest="d", dealer="north", expires=NOON, person="flo")])
        await settle(store, "u1", Outcome(erase=("flo",)))
        assert await store.open_invites("north") == []
        [left] = [owned.person for owned in await store.owners("north") if owned.person.key == "flo"]
        assert left == Person(key="flo", dealer="north", standing="erased")

    async def test_somebody_who_joins_meanwhile_is_not_sent_away_by_a_sheet(self, store: Store):
        await settle(
            store,
            "u1",
            Outcome(people=(ADA.model_copy(update={"name": "Ada B"}),), entries=(entry("e", Noted(text="x")),)),
        )
        with pytest.raises(Conflict):
            await store.bring_in("north", [(ADA, ADA.model_copy(update={"region": "Oslo"}))], [], [], [])

    async def test_withdrawn_invites_expire_at_once_and_used_ones_stay_as_they_are(self, store: Store):
        used = Invite(digest="used", dealer="north", expires=later(days=1), person="bo", used_by="bo")
        unused = Invite(digest="open", dealer="north", expires=later(days=1), person="flo")
        over = Invite(digest="over", dealer="north", expires=later(days=-1), person="flo")
        await store.put_invites([used, unused, over])
        assert await store.withdraw_invites("north", ["used", "open", "over", "unheard of"], NOON) == 1
        assert await store.open_invites("north") == [over, unused.model_copy(update={"expires": NOON})]
        assert await store.withdraw_invites("south", ["open"], NOON) == 0
