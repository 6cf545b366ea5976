"""The clerk's job for somebody who lets another person onto their tub."""

from datetime import timedelta

from pydantic import JsonValue

from bot.desk.invites import new_invite
from bot.model.sought import Seek
from bot.run.clerk import FAILED, Desk, Job, hand_over
from bot.talk.words import Words, line

DAYS = 7
"""How long such an invite can be used (common practice)."""


async def invite(desk: Desk) -> JsonValue:
    """Make a single-use invite to the tub and send its link, which is kept nowhere; the day on which it ends."""
    found = await desk.store.look_up(desk.dealer.key, Seek(what="owner", words=desk.person.key))
    tub = str(desk.errand.args.get("tub"))
    if desk.person.address is None or tub not in {one.key for one in found.tubs}:
        return FAILED
    secret, made = new_invite(desk.dealer.key, desk.now, tub=tub, days=DAYS)
    await desk.store.put_invite(made)
    link = desk.channels[desk.person.address.channel].link(secret)
    if not await hand_over(desk, Words.of(desk.person).text(line("household.link", link=link)), None):
        await desk.store.withdraw_invites(desk.dealer.key, [made.digest], desk.now)
        return FAILED
    return (desk.now + timedelta(days=DAYS)).date().isoformat()


JOBS: dict[str, Job] = {"household.invite": invite}
