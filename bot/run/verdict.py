"""What follows from a refusal: whether a message is tried again, and when.

Which way each lane errs where nobody can know whether a message arrived: a reminder and a bulk message err to not at
all, a reply and an alert to twice, the second one marked as a repetition (so that a dose named in it is never two).
An answer that says that the service failed is not such a doubt for a reminder, of which a second would do no harm, and
is one for a reply. What a reminder, a bulk message and a dose were about passes, so those that waited too long are not
sent.
"""

import random
from datetime import datetime, timedelta
from typing import NamedTuple

from bot.model.message import Lane, Message, Parcel, Refusal
from bot.model.zones import zone
from bot.schedule.local import allowed

SHORTEST_SECONDS = 2.0
LONGEST_SECONDS = 300.0
LONGEST_WAIT: dict[Lane, timedelta] = {"reminder": timedelta(days=1), "bulk": timedelta(days=2)}
"""How old a message may be when it leaves; what is not here is never too old (common practice)."""
STALE = Refusal(kind="bad", why="it waited longer than it makes sense to send it")
MOVES = 3
"""How often in a row a chat may have moved."""
REPEATED = "\u21bb "
"""The mark of a repetition, the same in every language."""


DIED = Refusal(kind="unknown", why="the process ended while this was being sent")
UNWANTED = Refusal(kind="bad", why="its reader wants no messages by now")
ASLEEP = Refusal(kind="later", why="its reader has quiet hours now")
WITHHELD = Refusal(kind="bad", why="no dose may be named while a danger is open")


class Verdict(NamedTuple):
    """When to try again (None: never), and the refusal to be kept."""

    again_at: datetime | None
    refusal: Refusal


def repeats(parcel: Parcel) -> bool:
    """Whether a message is sent again although it may have arrived."""
    return parcel.message.lane in {"reply", "alert"}


def is_stale(parcel: Parcel, now: datetime) -> bool:
    """Whether what a message says is no longer worth saying."""
    longest = LONGEST_WAIT.get("reminder" if parcel.message.dose else parcel.message.lane)
    return longest is not None and now - parcel.at > longest


def hindrance(parcel: Parcel, now: datetime) -> Verdict | None:
    """What keeps a message from leaving now, by what has come about since it was written; None if nothing does."""
    if parcel.doubts and not repeats(parcel):
        return Verdict(None, DIED)
    if is_stale(parcel, now):
        return Verdict(None, STALE)
    if parcel.withheld and not parcel.message.instead:
        return Verdict(None, WITHHELD)
    reader = parcel.reader
    if reader is None:
        return None
    if reader.standing != "active" or (reader.paused_until and reader.paused_until > now):
        return Verdict(None, UNWANTED)
    wakes = allowed(now, reader.quiet, zone(reader.zone))
    return Verdict(wakes, ASLEEP) if wakes > now else None


def without_dose(parcel: Parcel) -> Parcel:
    """The parcel as it is sent: one whose dose may not be named any more says so in its place."""
    if not parcel.withheld:
        return parcel
    message = parcel.message
    bare = Message(to=message.to, lane=message.lane, text=message.instead, address=message.address, topic=message.topic)
    return parcel.model_copy(update={"message": bare})


def marked(parcel: Parcel) -> Parcel:
    """The parcel as it is sent: one that may have arrived before says so."""
    if not parcel.doubts:
        return parcel
    again: Message = parcel.message.model_copy(update={"text": REPEATED + parcel.message.text})
    return parcel.model_copy(update={"message": again})


def judge(parcel: Parcel, refusal: Refusal, now: datetime, chance: random.Random) -> Verdict:
    """Decide what follows from a refusal."""
    match refusal.kind:
        case "blocked" | "gone" | "bad":
            return Verdict(None, refusal)
        case "moved":
            lost = refusal.chat in {None, parcel.address.chat} or parcel.attempts > MOVES
            return Verdict(None if lost else now, refusal)
        case "unknown":
            again = repeats(parcel) and not parcel.doubts
            return Verdict(now + backoff(parcel, chance) if again else None, refusal)
        case "failed":
            kept = refusal.model_copy(update={"kind": "unknown"}) if repeats(parcel) else refusal
            return Verdict(now + backoff(parcel, chance), kept)
        case "broken":
            return Verdict(now + backoff(parcel, chance), refusal.model_copy(update={"everyone": True}))
        case "later":
            asked = timedelta(seconds=refusal.seconds) if refusal.seconds else backoff(parcel, chance)
            return Verdict(now + asked, refusal)


def backoff(parcel: Parcel, chance: random.Random) -> timedelta:
    """Twice as long after each attempt, up to five minutes, with a quarter of it by chance."""
    longest = min(SHORTEST_SECONDS * 2.0 ** min(parcel.attempts - 1, 10), LONGEST_SECONDS)
    return timedelta(seconds=longest * (0.75 + 0.25 * chance.random()))
