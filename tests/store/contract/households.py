from datetime import timedelta

from bot.model.conversation import Conversation
from bot.model.event import Began
from bot.model.fact import CaseOpened
from bot.model.known import Outcome
from bot.model.person import Invite, digest_of
from bot.model.tub import Tub
from bot.store.contract import Store
from tests.store.contract.rooms import StoreRooms, settle
from tests.store.samples import ADA, BIRCH, BO, CEDAR, NOON, arrival, entry, later, wrote

OAK = Tub(key="oak", dealer="north")


class HouseholdContract(StoreRooms):
    async def both(self, store: Store) -> None:
        """Ada is on the cedar tub and, later, on the birch tub, where Bo is."""
        await store.put("north", [ADA, BO], [CEDAR, BIRCH], [("ada", "cedar"), ("ada", "birch"), ("bo", "birch")])

    async def test_of_several_tubs_the_newest_is_meant_until_another_is_wanted_chosen_or_open(self, store: Store):
        await self.both(store)
        known = await store.known(wrote("1"))
        assert (known.tub, known.tubs) == (BIRCH, (BIRCH, CEDAR))
        assert known.of_several == {"ada"}
        assert (await store.known(wrote("1"), tub="cedar")).tub == CEDAR
        assert (await store.known(wrote("1"), tub="oak")).tub == BIRCH
        await settle(store, "1", Outcome(conversation=Conversation(tub="cedar", tub_at=NOON)))
        known = await store.known(wrote("2"))
        assert (known.tub, known.household) == (CEDAR, (ADA,))

    async def test_a_tub_with_an_open_case_is_meant_before_one_that_was_chosen_long_ago(self, store: Store):
        await self.both(store)
        await settle(store, "1", Outcome(conversation=Conversation(tub="birch", tub_at=NOON - timedelta(days=1))))
        await store.write([entry("c", CaseOpened(case="k", klass="question", reasons=()))])
        assert (await store.known(wrote("2"))).tub == CEDAR

    async def test_who_leaves_a_tub_is_on_it_no_more_and_others_stay(self, store: Store):
        await self.both(store)
        await settle(store, "1", Outcome(unlinks=(("ada", "birch"),)))
        known = await store.known(wrote("2"))
        assert (known.tub, known.tubs, known.of_several) == (CEDAR, (CEDAR,), frozenset())
        assert [one.household for one in [await store.known(wrote("3", at="2"))]] == [(BO,)]

    async def test_an_invite_onto_one_more_tub_brings_what_is_known_of_that(self, store: Store):
        await store.put("north", [ADA, BO], [CEDAR, BIRCH], [("ada", "cedar"), ("bo", "birch")])
        await store.write([entry("of birch", tub="birch", person="bo")])
        invite = Invite(digest=digest_of("s"), dealer="north", tub="birch", expires=later(days=1))
        await store.put_invite(invite)
        known = await store.known(arrival("1", Began(invite=digest_of("s"))))
        assert (known.tub, known.invited_household) == (BIRCH, (BO,))
        assert [one.key for one in known.journal] == ["of birch"]
        for spoilt in ({"used_by": "bo"}, {"expires": NOON}, {"role": "technician"}, {"person": "bo"}):
            await store.put_invite(invite.model_copy(update=spoilt))
            assert (await store.known(arrival("2", Began(invite=digest_of("s"))))).tub == CEDAR
