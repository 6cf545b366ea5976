"""What rounds are kept in: a step of the schema."""

ROUNDS = """
CREATE TABLE rounds (
    number   INTEGER PRIMARY KEY AUTOINCREMENT,
    dealer   TEXT NOT NULL REFERENCES dealers (key),
    key      TEXT NOT NULL,
    kind     TEXT NOT NULL,
    state    TEXT NOT NULL,
    seen     TEXT NOT NULL DEFAULT '',
    chosen   INTEGER NOT NULL DEFAULT 0,
    reported INTEGER NOT NULL DEFAULT 0,
    body     TEXT NOT NULL,
    UNIQUE (dealer, key)
) STRICT;
CREATE INDEX rounds_open ON rounds (dealer, number) WHERE reported = 0;

-- one row for each owner of a round: the unique key is what keeps a round from reaching anybody twice
CREATE TABLE round_rows (
    number      INTEGER PRIMARY KEY AUTOINCREMENT,
    dealer      TEXT NOT NULL,
    round       TEXT NOT NULL,
    person      TEXT NOT NULL,
    tub         TEXT,
    place_in    INTEGER NOT NULL,
    language    TEXT NOT NULL,
    place       TEXT NOT NULL,
    state       TEXT NOT NULL,
    why         TEXT NOT NULL DEFAULT '',
    at          INTEGER NOT NULL DEFAULT 0,
    due         TEXT,
    answer      TEXT,
    answered_at INTEGER,
    UNIQUE (dealer, round, person),
    FOREIGN KEY (dealer, round) REFERENCES rounds (dealer, key) ON DELETE CASCADE,
    FOREIGN KEY (dealer, person) REFERENCES people (dealer, key),
    FOREIGN KEY (dealer, tub) REFERENCES tubs (dealer, key)
) STRICT;
CREATE INDEX round_rows_state ON round_rows (dealer, round, state, why, at, number);
CREATE INDEX round_rows_person ON round_rows (dealer, person, state, at);
CREATE INDEX round_rows_tub ON round_rows (dealer, round, tub);
CREATE INDEX round_rows_answer ON round_rows (dealer, round, answer) WHERE answer IS NOT NULL;

-- what a criterion looks at is found without reading the rest of a journal
CREATE INDEX journal_tub_kind ON journal (dealer, tub, kind, at, number) WHERE tub IS NOT NULL;

ALTER TABLE outbox ADD COLUMN round TEXT;
ALTER TABLE outbox ADD COLUMN live TEXT;
CREATE UNIQUE INDEX outbox_round ON outbox (dealer, round, person) WHERE round IS NOT NULL;
CREATE INDEX outbox_live ON outbox (dealer, channel, chat, live) WHERE live IS NOT NULL AND state = 'waiting';

-- the message in a chat that shows a state and is changed in place
CREATE TABLE live_messages (
    dealer    TEXT NOT NULL REFERENCES dealers (key),
    channel   TEXT NOT NULL,
    chat      TEXT NOT NULL,
    live      TEXT NOT NULL,
    reference TEXT NOT NULL,
    PRIMARY KEY (dealer, channel, chat, live)
) STRICT
"""

ROUNDS_MADE_AT = "ALTER TABLE rounds ADD COLUMN made_at INTEGER NOT NULL DEFAULT 0"
"""So that rounds that were never sent are forgotten in time."""
