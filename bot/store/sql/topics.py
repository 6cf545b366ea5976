"""The topics of a dealer's group: which thread of which chat is a case's."""

from bot.model.event import Arrival
from bot.model.message import Parcel
from bot.store.sql.unit import Unit, Values

PUT = """
INSERT INTO topics (dealer, case_key, channel, chat, thread) VALUES (:dealer, :case_key, :channel, :chat, :thread)
ON CONFLICT (dealer, case_key) DO UPDATE
SET channel = excluded.channel, chat = excluded.chat, thread = excluded.thread
"""
THREAD = """
SELECT thread FROM topics
WHERE dealer = :dealer AND case_key = :case_key AND channel = :channel AND chat = :chat
"""
CASE = """
SELECT case_key FROM topics
WHERE dealer = :dealer AND channel = :channel AND chat = :chat AND thread = :thread
"""


def with_thread(db: Unit, parcel: Parcel) -> Parcel:
    """The parcel with the number of its topic, where that has been opened in the chat that it goes to."""
    values = _values(parcel)
    row = db.execute(THREAD, values).fetchone() if values else None
    return parcel if row is None else parcel.model_copy(update={"thread": row["thread"]})


def keep(db: Unit, parcel: Parcel, thread: str | None) -> None:
    """Remember the topic that was opened for a parcel."""
    values = _values(parcel)
    if values and thread is not None:
        db.execute(PUT, {**values, "thread": thread})


def case_at(db: Unit, arrival: Arrival) -> str:
    """The case in whose topic something came about; empty where it was in none."""
    if arrival.group is None:
        return ""
    where = {"channel": arrival.address.channel, "chat": arrival.address.chat, "thread": arrival.group.thread}
    row = db.execute(CASE, {"dealer": arrival.dealer, **where}).fetchone() if arrival.group.thread else None
    return arrival.group.case if row is None else str(row["case_key"])


def _values(parcel: Parcel) -> Values | None:
    topic, address = parcel.message.topic, parcel.address
    if topic is None:
        return None
    return {"dealer": parcel.dealer, "case_key": topic.case, "channel": address.channel, "chat": address.chat}
