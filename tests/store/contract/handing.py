from bot.model.fact import Corrected, Noted, ReadingTaken
from bot.model.known import Handing, Outcome
from bot.model.person import Invite, digest_of
from bot.model.trail import SupplySaid
from bot.store.contract import Store
from dosing import Said
from tests.store.contract.rooms import StoreRooms, settle
from tests.store.samples import ADA, BO, CEDAR, TOM, due, entry, later, wrote

TEST = ReadingTaken(values={"ph": Said.value(7.4)})


class HandingContract(StoreRooms):
    async def test_a_tub_that_is_handed_on_keeps_what_its_water_went_through(self, store: Store):
        await store.put("north", [ADA, BO], [CEDAR.model_copy(update={"name": "Ada's", "bathers": 3})],
                        [("ada", "cedar"), ("bo", "cedar")])  # fmt: skip
        said = SupplySaid(product="dichlor", what="wanted", number=1)
        words = entry("words", Noted(text="mine"))
        wrong = entry("wrong", Corrected(of="words", fact=Noted(text="also mine")))
        await store.write([entry("test", TEST), words, wrong, entry("wanted", said), entry("own", tub=None)])
        await store.write([entry("by staff", TEST, person=TOM.key), entry("bo's", TEST, person="bo")])
        invite = Invite(digest=digest_of("s"), dealer="north", tub="cedar", expires=later(days=1))
        await store.put_invite(invite)
        gone = due("r.cedar.ada.test", later(days=1))
        handing = Handing(tub="cedar", person="bo")
        await settle(store, "1", Outcome(set_dues=(gone,), handing=handing))
        kept = {one.key: (one.person, one.fact) for _, one in await store.journal("north", tub="cedar")}
        assert kept == {
            "test": (None, TEST),
            "wrong": (None, Corrected(of="words")),
            "by staff": (TOM.key, TEST),
            "bo's": ("bo", TEST),
        }
        known = await store.known(wrote("2", at="2"))
        assert known.household == (BO,)
        assert known.tub == CEDAR
        mine = await store.known(wrote("3"))
        assert (mine.tubs, mine.dues) == ((), ())
        assert [one.key for one in mine.journal] == ["own"]
        assert (await store.known(wrote("4"))).person == ADA
