"""The schema, as steps that are never changed once released: a later one changes what an earlier one made.

Every row that belongs to a dealer carries its key, every time is an integer. A person, a tub and an entry are unique
within their dealer, so that nothing can point across. The words are SQLite's; PostgreSQL's are put in their place where
they differ (`bot/store/postgres/schema.py`).
"""

from bot.store.sql.schema_rounds import ROUNDS, ROUNDS_MADE_AT

HOUSE = """
CREATE TABLE dealers (
    key  TEXT PRIMARY KEY,
    body TEXT NOT NULL
) STRICT;

CREATE TABLE people (
    dealer   TEXT NOT NULL REFERENCES dealers (key),
    key      TEXT NOT NULL,
    role     TEXT NOT NULL,
    standing TEXT NOT NULL,
    channel  TEXT,
    chat     TEXT,
    body     TEXT NOT NULL,
    PRIMARY KEY (dealer, key),
    CHECK ((channel IS NULL) = (chat IS NULL))
) STRICT;
CREATE UNIQUE INDEX people_at ON people (dealer, channel, chat) WHERE chat IS NOT NULL;
CREATE INDEX people_staff ON people (dealer, key) WHERE role <> 'owner';

CREATE TABLE tubs (
    dealer TEXT NOT NULL REFERENCES dealers (key),
    key    TEXT NOT NULL,
    body   TEXT NOT NULL,
    PRIMARY KEY (dealer, key)
) STRICT;

CREATE TABLE links (
    number INTEGER PRIMARY KEY AUTOINCREMENT,
    dealer TEXT NOT NULL,
    person TEXT NOT NULL,
    tub    TEXT NOT NULL,
    UNIQUE (dealer, person, tub),
    FOREIGN KEY (dealer, person) REFERENCES people (dealer, key),
    FOREIGN KEY (dealer, tub) REFERENCES tubs (dealer, key)
) STRICT;
CREATE INDEX links_tub ON links (dealer, tub);

CREATE TABLE invites (
    dealer  TEXT NOT NULL REFERENCES dealers (key),
    digest  TEXT NOT NULL,
    tub     TEXT,
    expires INTEGER NOT NULL,
    used_by TEXT,
    body    TEXT NOT NULL,
    PRIMARY KEY (dealer, digest),
    FOREIGN KEY (dealer, tub) REFERENCES tubs (dealer, key),
    FOREIGN KEY (dealer, used_by) REFERENCES people (dealer, key)
) STRICT;
CREATE INDEX invites_used ON invites (dealer, used_by) WHERE used_by IS NOT NULL;
"""

JOURNAL = """
CREATE TABLE journal (
    number INTEGER PRIMARY KEY AUTOINCREMENT,
    dealer TEXT NOT NULL REFERENCES dealers (key),
    key    TEXT NOT NULL,
    tub    TEXT,
    person TEXT,
    at     INTEGER NOT NULL,
    via    TEXT NOT NULL,
    kind   TEXT NOT NULL,
    body   TEXT NOT NULL,
    UNIQUE (dealer, key),
    FOREIGN KEY (dealer, tub) REFERENCES tubs (dealer, key),
    FOREIGN KEY (dealer, person) REFERENCES people (dealer, key)
) STRICT;
CREATE INDEX journal_dealer ON journal (dealer, number);
CREATE INDEX journal_tub ON journal (dealer, tub, number) WHERE tub IS NOT NULL;
CREATE INDEX journal_tub_at ON journal (dealer, tub, at, number) WHERE tub IS NOT NULL;
CREATE INDEX journal_person ON journal (dealer, person, number) WHERE person IS NOT NULL;
CREATE INDEX journal_own_at ON journal (dealer, person, at, number) WHERE tub IS NULL AND person IS NOT NULL;
CREATE INDEX journal_own ON journal (dealer, person, number) WHERE tub IS NULL AND person IS NOT NULL;

-- which of the journal's cases are open: follows from the journal, kept so that staff need not read all of it
CREATE TABLE open_cases (
    dealer   TEXT NOT NULL,
    case_key TEXT NOT NULL,
    entry    INTEGER NOT NULL REFERENCES journal (number) ON DELETE CASCADE,
    PRIMARY KEY (dealer, case_key)
) STRICT;
CREATE INDEX open_cases_entry ON open_cases (entry);
"""

MOTION = """
CREATE TABLE conversations (
    dealer  TEXT NOT NULL REFERENCES dealers (key),
    channel TEXT NOT NULL,
    chat    TEXT NOT NULL,
    version INTEGER NOT NULL,
    body    TEXT NOT NULL,
    PRIMARY KEY (dealer, channel, chat)
) STRICT;

CREATE TABLE dues (
    dealer TEXT NOT NULL REFERENCES dealers (key),
    key    TEXT NOT NULL,
    kind   TEXT NOT NULL,
    what   TEXT NOT NULL,
    person TEXT NOT NULL,
    tub    TEXT,
    at     INTEGER NOT NULL,
    PRIMARY KEY (dealer, key),
    FOREIGN KEY (dealer, person) REFERENCES people (dealer, key),
    FOREIGN KEY (dealer, tub) REFERENCES tubs (dealer, key)
) STRICT;
CREATE INDEX dues_at ON dues (at);
CREATE INDEX dues_person ON dues (dealer, person);
CREATE INDEX dues_tub ON dues (dealer, tub) WHERE tub IS NOT NULL;

-- head: the oldest waiting row of its chat, the only one that may be taken
CREATE TABLE inbox (
    number       INTEGER PRIMARY KEY AUTOINCREMENT,
    dealer       TEXT NOT NULL REFERENCES dealers (key),
    channel      TEXT NOT NULL,
    chat         TEXT NOT NULL,
    update_id    TEXT NOT NULL,
    at           INTEGER NOT NULL,
    tub          TEXT,
    body         TEXT NOT NULL,
    state        TEXT NOT NULL CHECK (state IN ('waiting', 'done', 'dead', 'parked')),
    head         INTEGER NOT NULL,
    claims       INTEGER NOT NULL DEFAULT 0,
    attempts     INTEGER NOT NULL DEFAULT 0,
    leased_until INTEGER NOT NULL DEFAULT 0,
    why          TEXT,
    handled_at   INTEGER,
    UNIQUE (dealer, channel, update_id)
) STRICT;
CREATE INDEX inbox_head ON inbox (number) WHERE head = 1;
CREATE INDEX inbox_waiting ON inbox (dealer, channel, chat, number) WHERE state = 'waiting';
CREATE INDEX inbox_chat ON inbox (dealer, channel, chat);
CREATE INDEX inbox_handled ON inbox (handled_at) WHERE handled_at IS NOT NULL;

-- a chat has two queues, one that may overtake (reply, alert) and one that waits (calm: reminder, bulk);
-- head: the oldest waiting row of its queue
CREATE TABLE outbox (
    number       INTEGER PRIMARY KEY AUTOINCREMENT,
    dealer       TEXT NOT NULL REFERENCES dealers (key),
    channel      TEXT NOT NULL,
    chat         TEXT NOT NULL,
    person       TEXT,
    lane         INTEGER NOT NULL,
    calm         INTEGER NOT NULL,
    at           INTEGER NOT NULL,
    body         TEXT NOT NULL,
    state        TEXT NOT NULL CHECK (state IN ('waiting', 'sent', 'failed')),
    head         INTEGER NOT NULL,
    attempts     INTEGER NOT NULL DEFAULT 0,
    doubts       INTEGER NOT NULL DEFAULT 0,
    not_before   INTEGER NOT NULL DEFAULT 0,
    leased_until INTEGER NOT NULL DEFAULT 0,
    finished_at  INTEGER,
    reference    TEXT,
    why          TEXT,
    FOREIGN KEY (dealer, person) REFERENCES people (dealer, key)
) STRICT;
CREATE INDEX outbox_head ON outbox (channel, lane, number) WHERE head = 1;
CREATE INDEX outbox_chat_head ON outbox (dealer, channel, chat, calm) WHERE head = 1;
CREATE INDEX outbox_waiting ON outbox (dealer, channel, chat, calm, number) WHERE state = 'waiting';
CREATE INDEX outbox_lanes ON outbox (lane) WHERE state = 'waiting';
CREATE INDEX outbox_chat ON outbox (dealer, channel, chat);
CREATE INDEX outbox_person ON outbox (dealer, person) WHERE person IS NOT NULL;
CREATE INDEX outbox_finished ON outbox (finished_at) WHERE finished_at IS NOT NULL;

CREATE TABLE pauses (
    dealer  TEXT NOT NULL REFERENCES dealers (key),
    channel TEXT NOT NULL,
    until   INTEGER NOT NULL,
    PRIMARY KEY (dealer, channel)
) STRICT;
"""

GROUPS = """
CREATE TABLE topics (
    dealer   TEXT NOT NULL REFERENCES dealers (key),
    case_key TEXT NOT NULL,
    channel  TEXT NOT NULL,
    chat     TEXT NOT NULL,
    thread   TEXT NOT NULL,
    PRIMARY KEY (dealer, case_key)
) STRICT;
CREATE INDEX topics_thread ON topics (dealer, channel, chat, thread);
"""

DESK = """
ALTER TABLE invites ADD COLUMN person TEXT;
CREATE INDEX invites_open ON invites (dealer, person) WHERE used_by IS NULL AND person IS NOT NULL;

-- how a sheet was understood, and whatever else the desk has to know again
CREATE TABLE memories (
    dealer TEXT NOT NULL REFERENCES dealers (key),
    name   TEXT NOT NULL,
    body   TEXT NOT NULL,
    PRIMARY KEY (dealer, name)
) STRICT;
"""

LEASES = """
CREATE TABLE leases (
    dealer TEXT NOT NULL REFERENCES dealers (key),
    what   TEXT NOT NULL,
    holder TEXT NOT NULL,
    until  INTEGER NOT NULL,
    PRIMARY KEY (dealer, what)
) STRICT;
CREATE INDEX leases_holder ON leases (holder);
CREATE INDEX outbox_dealer_head ON outbox (dealer, channel, lane, number) WHERE head = 1;
"""

SOUGHT = """
CREATE INDEX journal_cases ON journal (dealer, at, number) WHERE kind IN (
    'case', 'case_said', 'case_note', 'cleared', 'taken', 'given_back', 'reopened', 'case_helped',
    'plan_sent', 'test_wanted');
"""

ERRANDS = """
CREATE TABLE errands (
    number       INTEGER PRIMARY KEY AUTOINCREMENT,
    dealer       TEXT NOT NULL REFERENCES dealers (key),
    key          TEXT NOT NULL,
    person       TEXT NOT NULL,
    body         TEXT NOT NULL,
    attempts     INTEGER NOT NULL DEFAULT 0,
    leased_until INTEGER NOT NULL DEFAULT 0,
    UNIQUE (dealer, key),
    FOREIGN KEY (dealer, person) REFERENCES people (dealer, key)
) STRICT;
"""

KEEPING = """
CREATE INDEX journal_kept ON journal (dealer, kind, at, number) WHERE kind IN (
    'note', 'case_said', 'cleared', 'brought', 'invites', 'round_order');
DROP INDEX inbox_handled;
CREATE INDEX inbox_handled ON inbox (dealer, handled_at) WHERE handled_at IS NOT NULL;
DROP INDEX outbox_finished;
CREATE INDEX outbox_finished ON outbox (dealer, finished_at) WHERE finished_at IS NOT NULL;
"""

TRAIL = """
CREATE INDEX journal_trail ON journal (dealer, at, number) WHERE kind IN (
    'acted', 'brought', 'invites', 'round_order', 'household', 'case', 'taken', 'given_back', 'cleared', 'reopened',
    'plan_sent', 'doses_held');
"""

STEPS: dict[str, str] = {
    "m001_first_schema": HOUSE + JOURNAL + MOTION,
    "m002_topics": GROUPS,
    "m003_desk": DESK,
    "m004_leases": LEASES,
    "m005_rounds": ROUNDS,
    "m006_cases": SOUGHT,
    "m007_errands": ERRANDS,
    "m008_rounds_made_at": ROUNDS_MADE_AT,
    "m009_keeping": KEEPING,
    "m010_trail": TRAIL,
}
"""Every step by its name, in order."""


def statements(script: str) -> list[str]:
    """The statements of a step, one by one: a script runner would commit the transaction that they belong to."""
    return [statement for statement in script.split(";") if statement.strip()]
