"""The clerk's job for somebody who lets another person onto their tub."""

from datetime import timedelta

from pydantic import JsonValue

from bot.desk.invites import new_invite
from bot.model.sought import Seek
from bot.model.trail import Acted
from bot.run.clerk import FAILED, Desk, Job, hand_over
from bot.run.trail import note
from bot.talk.words import Words, line

DAYS = 7
"""How long such an invite can be used (common practice)."""


async def invite(desk: Desk) -> JsonValue:
    """Make a single-use invite to the tub and send its link, which is kept nowhere; the day on which it ends."""
    return await _link(desk, "household.link", hands_on=False)


async def hand_on(desk: Desk) -> JsonValue:
    """The same, for whoever is to have the tub alone."""
    return await _link(desk, "hand_on.link", hands_on=True)


async def _link(desk: Desk, said: str, *, hands_on: bool) -> JsonValue:
    tub = str(desk.errand.args.get("tub"))
    if desk.person.address is None or not await _may(desk, tub):
        return FAILED
    secret, made = new_invite(desk.dealer.key, desk.now, tub=tub, days=DAYS)
    await desk.store.put_invite(made.model_copy(update={"hands_on": hands_on}))
    fact = Acted(what="hand_on_link" if hands_on else "link", about=(tub,))
    await note(desk.store, desk.dealer.key, fact, desk.now, by=desk.person.key, via=desk.person.address.channel)
    link = desk.channels[desk.person.address.channel].link(secret)
    if not await hand_over(desk, Words.of(desk.person).text(line(said, link=link)), None):
        await desk.store.withdraw_invites(desk.dealer.key, [made.digest], desk.now)
        return FAILED
    return (desk.now + timedelta(days=DAYS)).date().isoformat()


async def _may(desk: Desk, tub: str) -> bool:
    """Whether a tub is theirs, or they are the dealer."""
    if desk.person.role == "dealer":
        return desk.person.standing == "active"
    found = await desk.store.look_up(desk.dealer.key, Seek(what="owner", words=desk.person.key))
    return tub in {one.key for one in found.tubs}


JOBS: dict[str, Job] = {"household.invite": invite, "household.hand_on": hand_on}
