"""Leases: which service polls and sends for a dealer's token. An expiry outlives a connection that is lost."""

from bot.store.sql import outbox
from bot.store.sql.unit import Unit

HOLDER = "SELECT holder FROM leases WHERE dealer = :dealer AND what = :what"
TAKE = """
INSERT INTO leases (dealer, what, holder, until) VALUES (:dealer, :what, :holder, :until)
ON CONFLICT (dealer, what) DO UPDATE SET holder = excluded.holder, until = excluded.until
WHERE leases.holder = excluded.holder OR leases.until <= :now
"""
LET_GO = "DELETE FROM leases WHERE holder = :holder"
FREE_ALL = "DELETE FROM leases"


def hold(db: Unit, dealer: str, what: str, holder: str, now: int, until: int) -> bool:
    """Get or keep a lease; False while somebody else holds it."""
    db.lock("outbox", [("lease", dealer, what)])
    before = db.execute(HOLDER, {"dealer": dealer, "what": what}).fetchone()
    values = {"dealer": dealer, "what": what, "holder": holder, "now": now, "until": until}
    if db.execute(TAKE, values).rowcount != 1:
        return False
    if before is None or before["holder"] != holder:
        db.execute(outbox.FREE_OF_DEALER, {"dealer": dealer, "channel": what})
    return True


def let_go(db: Unit, holder: str) -> None:
    """Give back every lease of a holder."""
    db.execute(LET_GO, {"holder": holder})
