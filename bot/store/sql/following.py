"""What follows a message beyond the outbox: its fate in its round, and the place of one that shows a state."""

from bot.model.message import Delivered, Parcel, Refusal
from bot.model.round import RowState
from bot.store.sql.unit import Row, Unit, Values

OF_ROUND = """
UPDATE round_rows SET state = :state, why = :why, at = :now
WHERE dealer = :dealer AND round = :round AND person = :person AND state = 'queued'
"""
LIVE = """
SELECT reference FROM live_messages
WHERE dealer = :dealer AND channel = :channel AND chat = :chat AND live = :live
"""
SHOW_LIVE = """
INSERT INTO live_messages (dealer, channel, chat, live, reference)
VALUES (:dealer, :channel, :chat, :live, :reference)
ON CONFLICT (dealer, channel, chat, live) DO UPDATE SET reference = excluded.reference
"""


def fate(refusal: Refusal) -> RowState:
    """What a final refusal means for a round."""
    match refusal.kind:
        case "blocked" | "gone":
            return "blocked"
        case "unknown":
            return "unclear"
        case _:
            return "failed"


def follow_round(db: Unit, dealer: str, row: Row, state: RowState, why: str | None, now: int) -> None:
    """Keep what became of a message in its round, if it has one."""
    if row["round"] is not None:
        values = {"dealer": dealer, "round": row["round"], "person": row["person"], "state": state, "now": now}
        db.execute(OF_ROUND, {**values, "why": why or ""})


def with_place(db: Unit, parcel: Parcel) -> Parcel:
    """The parcel with the message whose place it takes, if it shows a state that is shown already."""
    if parcel.message.live is None:
        return parcel
    row = db.execute(LIVE, _live(parcel)).fetchone()
    return parcel if row is None else parcel.model_copy(update={"edits": row["reference"]})


def keep_place(db: Unit, parcel: Parcel, receipt: Delivered) -> None:
    """Remember where a state is shown."""
    if parcel.message.live is not None and receipt.reference:
        db.execute(SHOW_LIVE, {**_live(parcel), "reference": receipt.reference})


def _live(parcel: Parcel) -> Values:
    address = parcel.address
    return {
        "dealer": parcel.dealer,
        "channel": address.channel,
        "chat": address.chat,
        "live": parcel.message.live,
    }
