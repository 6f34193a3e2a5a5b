"""The tables of a book, as SQLite is told them; `postgres_sql.tables` says the same to PostgreSQL.

`entry` is the journal and the truth, with `person_name`, `original` and `coded` beside it (`coded_names.py`); the other
tables are projections of it, rebuilt at will. So a book with tables of an earlier revision needs no steps of its own:
`upgrading.upgrade` rebuilds them. A change here raises `store.VERSION`.

| table    | a row is                                                                         |
|----------|----------------------------------------------------------------------------------|
| entry    | an entry: its bytes, its hash, and `gone`, the entry that voided or replaced it  |
| person_name | a name of a person with its salt, and the reference for it in the chain       |
| original | the bytes that the hash of an entry of format 2 is of, where a person in it was  |
|          | withdrawn                                                                        |
| coded    | one row in a book that was upgraded: the first entry hashed with references      |
| item     | an identifier that is in the book                                                |
| fact     | what is true of an item from a time on: ref, name, wood, place, held …; `lookup` |
|          | is a ref or lot mark without case and spacing, as it is looked up                |
| ledger   | an item after a line that touched it: what it holds, in which state              |
| state    | a node of the lineage graph, with the moment that sealed it, and the sums of all |
|          | that flowed into it (`lineages.INFLOWS`)                                         |
| flow     | an edge of it, under the state it leads to (0: outside)                          |
| on_hand  | an item that holds liquid now, under the place of its kind among all kinds        |
| mention  | an entry that concerns an item without moving its liquid (any more)              |
| counter  | the next number of a kind                                                        |
| reserved | an identifier printed ahead and not yet assigned                                 |
| setting  | the house's settings now                                                         |
| recipe   | the latest entry of a recipe of that name                                        |
| blending | a blending session with guests, by name                                          |
| component | the latest entry of a component of that name                                    |
| pending  | an entry with a strength that the laboratory has still to read                    |
| tasting  | a tasting note that counts: of which item (none while blind), by whom, its scores |
| tasted_word | a word of a note, as it is looked up: with its intensity, or of free text without |
| session  | a tasting session by name; `revealed` is the entry that closed it, 0 while open  |
| unit     | a case or pallet by its SSCC, whether or not its entry still counts              |
| site     | of a group's book: a site that joined, with the head of its journal              |
| site_entry | of a group's book, the truth in place of `entry`: an entry of a site as it was recorded |
| composition | a cache, no projection: what a state is made of (`compositions.py`)           |
"""

__all__ = ["BESIDE_THE_JOURNAL", "STATEMENTS", "TABLES"]

BESIDE_THE_JOURNAL = (
    """CREATE TABLE person_name (reference TEXT PRIMARY KEY, salt TEXT NOT NULL, name TEXT NOT NULL, item TEXT NOT NULL)
    STRICT, WITHOUT ROWID""",
    "CREATE INDEX person_name_of ON person_name (name, item)",
    "CREATE TABLE original (entry INTEGER PRIMARY KEY, bytes TEXT NOT NULL) STRICT",
    "CREATE TABLE coded (since INTEGER PRIMARY KEY) STRICT",
)
"""What format 3 has and format 2 had not."""

_FIRST = """
CREATE TABLE entry (number INTEGER PRIMARY KEY, kind TEXT NOT NULL, happened INTEGER NOT NULL,
    place INTEGER NOT NULL, gone INTEGER NOT NULL, bytes TEXT NOT NULL, hash BLOB NOT NULL) STRICT;
CREATE INDEX entry_close ON entry (happened) WHERE kind = 'close';
CREATE INDEX entry_happened ON entry (happened, place);
CREATE INDEX entry_seldom ON entry (kind) WHERE kind NOT IN ('pour', 'gauge', 'item');
CREATE INDEX entry_gone ON entry (gone) WHERE gone <> 0;
CREATE INDEX entry_paper ON entry (number) WHERE kind = 'paper';
CREATE TABLE item (key INTEGER PRIMARY KEY, kind TEXT NOT NULL, entry INTEGER NOT NULL) STRICT;
CREATE TABLE fact (item INTEGER NOT NULL, name TEXT NOT NULL, happened INTEGER NOT NULL,
    place INTEGER NOT NULL, value TEXT NOT NULL, lookup TEXT,
    PRIMARY KEY (item, name, happened, place)) STRICT, WITHOUT ROWID;
CREATE INDEX fact_lookup ON fact (lookup) WHERE lookup IS NOT NULL;
CREATE INDEX fact_place ON fact (value) WHERE name = 'place';
CREATE INDEX fact_held ON fact (item) WHERE name = 'held';
CREATE INDEX fact_status ON fact (item) WHERE name IN ('duty', 'owner');
CREATE TABLE ledger (item INTEGER NOT NULL, happened INTEGER NOT NULL, place INTEGER NOT NULL,
    line INTEGER NOT NULL, mass INTEGER NOT NULL, ethanol INTEGER NOT NULL, extract INTEGER NOT NULL,
    state INTEGER NOT NULL, sealed INTEGER NOT NULL,
    PRIMARY KEY (item, happened, place)) STRICT, WITHOUT ROWID;
CREATE TABLE state (id INTEGER PRIMARY KEY, item INTEGER NOT NULL,
    sealed_happened INTEGER, sealed_place INTEGER,
    mass_in INTEGER NOT NULL DEFAULT 0, ethanol_in INTEGER NOT NULL DEFAULT 0) STRICT;
CREATE INDEX state_item ON state (item);
CREATE TABLE flow (target INTEGER NOT NULL, line INTEGER NOT NULL, carry INTEGER NOT NULL,
    source INTEGER NOT NULL, how TEXT NOT NULL, happened INTEGER NOT NULL,
    mass INTEGER NOT NULL, ethanol INTEGER NOT NULL, extract INTEGER NOT NULL,
    out_mass INTEGER, out_ethanol INTEGER, out_extract INTEGER,
    PRIMARY KEY (target, line, carry)) STRICT, WITHOUT ROWID;
CREATE INDEX flow_source ON flow (source, target, mass, ethanol);
CREATE TABLE on_hand (kind INTEGER NOT NULL, item INTEGER NOT NULL,
    PRIMARY KEY (kind, item)) STRICT, WITHOUT ROWID;
CREATE TABLE mention (item INTEGER NOT NULL, entry INTEGER NOT NULL,
    PRIMARY KEY (item, entry)) STRICT, WITHOUT ROWID;
CREATE TABLE counter (kind TEXT PRIMARY KEY, next INTEGER NOT NULL) STRICT, WITHOUT ROWID;
CREATE TABLE reserved (key INTEGER PRIMARY KEY, entry INTEGER NOT NULL) STRICT;
CREATE TABLE setting (name TEXT PRIMARY KEY, value TEXT NOT NULL) STRICT, WITHOUT ROWID;
CREATE TABLE recipe (name TEXT PRIMARY KEY, entry INTEGER NOT NULL, lookup TEXT NOT NULL) STRICT, WITHOUT ROWID;
CREATE INDEX recipe_lookup ON recipe (lookup);
CREATE TABLE blending (name TEXT PRIMARY KEY, entry INTEGER NOT NULL, lookup TEXT NOT NULL) STRICT, WITHOUT ROWID;
CREATE INDEX blending_lookup ON blending (lookup);
CREATE TABLE component (name TEXT PRIMARY KEY, entry INTEGER NOT NULL, lookup TEXT NOT NULL) STRICT, WITHOUT ROWID;
CREATE INDEX component_lookup ON component (lookup);
CREATE TABLE pending (entry INTEGER PRIMARY KEY) STRICT;
CREATE TABLE unit (sscc INTEGER PRIMARY KEY, item INTEGER NOT NULL, entry INTEGER NOT NULL) STRICT;
CREATE TABLE tasting (entry INTEGER PRIMARY KEY, item INTEGER, session TEXT NOT NULL, code TEXT NOT NULL,
    assessor TEXT NOT NULL, happened INTEGER NOT NULL, place INTEGER NOT NULL,
    score REAL, liking REAL, finish_s INTEGER) STRICT;
CREATE INDEX tasting_item ON tasting (item, happened, place);
CREATE INDEX tasting_session ON tasting (session) WHERE session <> '';
CREATE TABLE session (name TEXT PRIMARY KEY, entry INTEGER NOT NULL, lookup TEXT NOT NULL,
    revealed INTEGER NOT NULL) STRICT, WITHOUT ROWID;
CREATE INDEX session_lookup ON session (lookup);
CREATE TABLE tasted_word (word TEXT NOT NULL, entry INTEGER NOT NULL, stage TEXT NOT NULL, intensity REAL,
    PRIMARY KEY (word, entry, stage)) STRICT, WITHOUT ROWID;
CREATE INDEX fact_due ON fact (value) WHERE name = 'due';
CREATE INDEX fact_gtin ON fact (value) WHERE name = 'gtin';
CREATE INDEX fact_case_gtin ON fact (value) WHERE name = 'case_gtin';
CREATE INDEX fact_planned ON fact (name, value, happened) WHERE name IN ('blending', 'chosen', 'follows', 'plan',
    'rest_days', 'revised_from', 'target_strength', 'total');
CREATE INDEX fact_run ON fact (value) WHERE name = 'run';
CREATE INDEX fact_lot_mark ON fact (value) WHERE name = 'lot_mark';
CREATE TABLE site (code INTEGER PRIMARY KEY, name TEXT NOT NULL, house TEXT NOT NULL, numbers TEXT NOT NULL,
    entries INTEGER NOT NULL, head BLOB NOT NULL, fingerprint TEXT NOT NULL) STRICT;
CREATE TABLE site_entry (code INTEGER NOT NULL, number INTEGER NOT NULL, bytes TEXT NOT NULL, hash BLOB NOT NULL,
    PRIMARY KEY (code, number)) STRICT, WITHOUT ROWID;
CREATE TABLE composition (key INTEGER PRIMARY KEY, inflows INTEGER NOT NULL, origins INTEGER NOT NULL,
    items BLOB NOT NULL, lines BLOB NOT NULL) STRICT;
"""

STATEMENTS = (*(statement.strip() for statement in _FIRST.split(";") if statement.strip()), *BESIDE_THE_JOURNAL)
"""What makes the tables of format 3, in order."""

TABLES = tuple(statement.split()[2] for statement in STATEMENTS if statement.startswith("CREATE TABLE"))
"""Their names."""
