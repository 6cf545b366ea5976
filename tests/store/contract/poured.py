from bot.model.fact import Added, Corrected, Noted, StartedUp
from bot.model.trail import SupplySaid
from bot.store.contract import Store
from tests.store.contract.rooms import StoreRooms
from tests.store.samples import ADA, BO, CEDAR, entry, later

POURED = Added(product="dichlor", grams=10, substances={"sodium_dichlor": 10})


class PouredContract(StoreRooms):
    async def test_owners_come_with_what_was_poured_and_said_of_packs_and_with_nothing_else(self, store: Store):
        await store.put("north", [ADA], [CEDAR], [("ada", "cedar")])
        said = SupplySaid(product="dichlor", what="offered", number=1)
        told = [POURED, Noted(text="n"), StartedUp(), said]
        await store.write([entry(str(n), fact, at=later(hours=n)) for n, fact in enumerate(told)])
        page = await store.poured("north")
        assert [[one.fact.kind for one in each.journal] for each in page if each.person == ADA] == [
            ["addition", "started", "supply"]
        ]
        await store.write([entry("c", Corrected(of="0"), at=later(hours=9))])
        [ada] = [one for one in await store.poured("north") if one.person == ADA]
        assert ada.journal[-1].fact == Corrected(of="0")

    async def test_they_come_a_page_at_a_time(self, store: Store):
        assert [one.person for one in await store.poured("north", limit=1)] == [ADA]
        assert [one.person for one in await store.poured("north", after="ada", limit=1)] == [BO]
        assert await store.poured("south") == []
