-- Schema 1, part 5: limits, contracts and costs; deliveries, bins, and what went where.

-- A limit of DON that a rule or a contract sets.
CREATE TABLE content_limit (
    record INTEGER PRIMARY KEY,
    event INTEGER NOT NULL REFERENCES event (sequence),
    version INTEGER NOT NULL CONSTRAINT versions_count_from_1 CHECK (version >= 1),
    withdrawn INTEGER NOT NULL DEFAULT 0 CONSTRAINT withdrawn_is_0_or_1 CHECK (withdrawn IN (0, 1)),
    limit_id TEXT NOT NULL CONSTRAINT limit_id_is_not_empty CHECK (limit_id <> ''),
    jurisdiction TEXT NOT NULL CONSTRAINT jurisdiction_is_not_empty CHECK (jurisdiction <> ''),
    commodity TEXT NOT NULL CONSTRAINT commodity_is_not_empty CHECK (commodity <> ''),
    purpose TEXT NOT NULL CONSTRAINT purpose_is_a_known_word CHECK (purpose IN ('food', 'feed', 'hold', 'other')),
    stage TEXT,  -- for example unprocessed
    limit_mg_per_kg REAL NOT NULL CONSTRAINT limit_mg_per_kg_is_not_negative CHECK (limit_mg_per_kg >= 0),
    basis TEXT NOT NULL CONSTRAINT basis_is_a_known_word CHECK (basis IN ('as_is', 'dry', 'pct12')),
    comparison TEXT  -- what breaks it; empty: over
        CONSTRAINT comparison_is_a_known_word CHECK (comparison IN ('over', 'at_or_over')),
    rounding_mg_per_kg REAL  -- results are rounded to this step first
        CONSTRAINT rounding_mg_per_kg_is_not_negative CHECK (rounding_mg_per_kg >= 0),
    "from" TEXT NOT NULL CONSTRAINT from_is_a_day CHECK ("from" IS date("from")),  -- first day it holds
    "to" TEXT CONSTRAINT to_is_a_day CHECK ("to" IS date("to")),  -- last day; empty: still holds
    kind TEXT NOT NULL
        CONSTRAINT kind_is_a_known_word CHECK (kind IN ('maximum', 'guidance', 'advisory', 'contract')),
    mixing TEXT  -- of grain over it with grain under it; empty: not_addressed
        CONSTRAINT mixing_is_a_known_word CHECK (mixing IN ('forbidden', 'not_addressed', 'allowed')),
    decision_rule TEXT,
    source TEXT NOT NULL CONSTRAINT source_is_not_empty CHECK (source <> ''),  -- where the number stands
    confirmed INTEGER  -- no: the number is from memory and must be checked; empty: yes
        CONSTRAINT confirmed_is_0_or_1 CHECK (confirmed IN (0, 1)),
    notes TEXT NOT NULL DEFAULT '{}' CONSTRAINT notes_are_a_json_object CHECK (json_type(notes) = 'object'),
    CONSTRAINT a_version_comes_once UNIQUE (limit_id, version),
    CONSTRAINT a_limit_starts_before_it_ends
        CHECK ("from" <= "to")
) STRICT;
CREATE VIEW current_content_limit AS
SELECT * FROM content_limit AS given
WHERE withdrawn = 0
    AND NOT EXISTS (SELECT 1 FROM content_limit AS later
                    WHERE later.limit_id = given.limit_id AND later.version > given.version);

-- A sale; one row a step of its price.
CREATE TABLE contract (
    record INTEGER PRIMARY KEY,
    event INTEGER NOT NULL REFERENCES event (sequence),
    version INTEGER NOT NULL CONSTRAINT versions_count_from_1 CHECK (version >= 1),
    withdrawn INTEGER NOT NULL DEFAULT 0 CONSTRAINT withdrawn_is_0_or_1 CHECK (withdrawn IN (0, 1)),
    contract TEXT NOT NULL CONSTRAINT contract_is_not_empty CHECK (contract <> ''),
    from_mg_per_kg REAL NOT NULL  -- the step begins here; 0: the contract itself
        CONSTRAINT from_mg_per_kg_is_not_negative CHECK (from_mg_per_kg >= 0),
    buyer TEXT,
    commodity TEXT NOT NULL CONSTRAINT commodity_is_not_empty CHECK (commodity <> ''),
    tonnes REAL CONSTRAINT tonnes_is_not_negative CHECK (tonnes >= 0),
    limit_id TEXT,
    price_per_t REAL,
    price_change_per_t REAL,  -- from this content on
    notes TEXT NOT NULL DEFAULT '{}' CONSTRAINT notes_are_a_json_object CHECK (json_type(notes) = 'object'),
    CONSTRAINT a_version_comes_once UNIQUE (contract, from_mg_per_kg, version)
) STRICT;
CREATE VIEW current_contract AS
SELECT * FROM contract AS given
WHERE withdrawn = 0
    AND NOT EXISTS (SELECT 1 FROM contract AS later
                    WHERE later.contract = given.contract
                        AND later.from_mg_per_kg = given.from_mg_per_kg
                        AND later.version > given.version);

-- What a mistake or a test costs, in the user's money.
CREATE TABLE cost (
    record INTEGER PRIMARY KEY,
    event INTEGER NOT NULL REFERENCES event (sequence),
    version INTEGER NOT NULL CONSTRAINT versions_count_from_1 CHECK (version >= 1),
    withdrawn INTEGER NOT NULL DEFAULT 0 CONSTRAINT withdrawn_is_0_or_1 CHECK (withdrawn IN (0, 1)),
    name TEXT NOT NULL
        CONSTRAINT name_is_a_known_word
        CHECK (name IN ('wrong_acceptance_per_t', 'wrong_rejection_per_t', 'test', 'sample', 'hour')),
    value REAL NOT NULL CONSTRAINT value_is_not_negative CHECK (value >= 0),
    notes TEXT NOT NULL DEFAULT '{}' CONSTRAINT notes_are_a_json_object CHECK (json_type(notes) = 'object'),
    CONSTRAINT a_version_comes_once UNIQUE (name, version)
) STRICT;
CREATE VIEW current_cost AS
SELECT * FROM cost AS given
WHERE withdrawn = 0
    AND NOT EXISTS (SELECT 1 FROM cost AS later
                    WHERE later.name = given.name AND later.version > given.version);

-- A delivery.
CREATE TABLE load (
    record INTEGER PRIMARY KEY,
    event INTEGER NOT NULL REFERENCES event (sequence),
    version INTEGER NOT NULL CONSTRAINT versions_count_from_1 CHECK (version >= 1),
    withdrawn INTEGER NOT NULL DEFAULT 0 CONSTRAINT withdrawn_is_0_or_1 CHECK (withdrawn IN (0, 1)),
    load TEXT NOT NULL CONSTRAINT load_is_not_empty CHECK (load <> ''),  -- its name or bar code
    time TEXT CONSTRAINT time_is_a_time_with_its_offset CHECK (time LIKE '____-__-__T__:__:_____:__'),  -- of arrival
    ticket TEXT,
    supplier TEXT,
    truck TEXT,
    commodity TEXT
        CONSTRAINT commodity_is_a_known_word
        CHECK (commodity IN ('wheat', 'durum', 'barley', 'oats', 'maize', 'rye', 'triticale')),
    gross_t REAL CONSTRAINT gross_t_is_not_negative CHECK (gross_t >= 0),
    tare_t REAL CONSTRAINT tare_t_is_not_negative CHECK (tare_t >= 0),
    net_t REAL CONSTRAINT net_t_is_not_negative CHECK (net_t >= 0),  -- empty: gross less tare
    moisture_pct REAL  -- wet basis
        CONSTRAINT moisture_pct_lies_between_0_and_100 CHECK (moisture_pct BETWEEN 0 AND 100),
    dockage_pct REAL CONSTRAINT dockage_pct_lies_between_0_and_100 CHECK (dockage_pct BETWEEN 0 AND 100),
    status TEXT  -- empty: arrived
        CONSTRAINT status_is_a_known_word
        CHECK (status IN ('arrived', 'probed', 'awaiting', 'directed', 'dumped', 'turned_away')),
    contract TEXT,
    keep_apart TEXT,  -- class, organic, seed: never meets another tag in a bin
    notes TEXT NOT NULL DEFAULT '{}' CONSTRAINT notes_are_a_json_object CHECK (json_type(notes) = 'object'),
    CONSTRAINT a_version_comes_once UNIQUE (load, version),
    CONSTRAINT gross_is_not_under_tare
        CHECK (gross_t >= tare_t)
) STRICT;
CREATE VIEW current_load AS
SELECT * FROM load AS given
WHERE withdrawn = 0
    AND NOT EXISTS (SELECT 1 FROM load AS later
                    WHERE later.load = given.load AND later.version > given.version);

-- Which field a load came from; several rows where it holds several.
CREATE TABLE load_part (
    record INTEGER PRIMARY KEY,
    event INTEGER NOT NULL REFERENCES event (sequence),
    version INTEGER NOT NULL CONSTRAINT versions_count_from_1 CHECK (version >= 1),
    withdrawn INTEGER NOT NULL DEFAULT 0 CONSTRAINT withdrawn_is_0_or_1 CHECK (withdrawn IN (0, 1)),
    load TEXT NOT NULL CONSTRAINT load_is_not_empty CHECK (load <> ''),
    field TEXT NOT NULL DEFAULT '',  -- empty: bought grain
    part TEXT NOT NULL DEFAULT '',  -- a part of the field
    zone TEXT NOT NULL DEFAULT '',  -- a zone cut apart
    share REAL CONSTRAINT share_lies_between_0_and_1 CHECK (share BETWEEN 0 AND 1),  -- 0 to 1 of the load; empty: 1
    notes TEXT NOT NULL DEFAULT '{}' CONSTRAINT notes_are_a_json_object CHECK (json_type(notes) = 'object'),
    CONSTRAINT a_version_comes_once UNIQUE (load, field, part, zone, version),
    CONSTRAINT a_part_or_zone_has_its_field
        CHECK (field <> '' OR (part = '' AND zone = ''))
) STRICT;
CREATE VIEW current_load_part AS
SELECT * FROM load_part AS given
WHERE withdrawn = 0
    AND NOT EXISTS (SELECT 1 FROM load_part AS later
                    WHERE later.load = given.load
                        AND later.field = given.field
                        AND later.part = given.part
                        AND later.zone = given.zone
                        AND later.version > given.version);

-- A place that holds grain.
CREATE TABLE bin (
    record INTEGER PRIMARY KEY,
    event INTEGER NOT NULL REFERENCES event (sequence),
    version INTEGER NOT NULL CONSTRAINT versions_count_from_1 CHECK (version >= 1),
    withdrawn INTEGER NOT NULL DEFAULT 0 CONSTRAINT withdrawn_is_0_or_1 CHECK (withdrawn IN (0, 1)),
    bin TEXT NOT NULL CONSTRAINT bin_is_not_empty CHECK (bin <> ''),
    capacity_t REAL NOT NULL CONSTRAINT capacity_t_is_not_negative CHECK (capacity_t >= 0),
    purpose TEXT NOT NULL CONSTRAINT purpose_is_a_known_word CHECK (purpose IN ('food', 'feed', 'hold', 'other')),
    limit_id TEXT,  -- the limit its grain is sold under
    keep_apart TEXT,  -- the only tag it takes
    draw_off TEXT  -- empty: unknown
        CONSTRAINT draw_off_is_a_known_word CHECK (draw_off IN ('first_in', 'last_in', 'mixed', 'unknown')),
    opening_mass_t REAL  -- in it when the record begins
        CONSTRAINT opening_mass_t_is_not_negative CHECK (opening_mass_t >= 0),
    opening_mean_mg_per_kg REAL  -- its content
        CONSTRAINT opening_mean_mg_per_kg_is_not_negative CHECK (opening_mean_mg_per_kg >= 0),
    opening_sd_mg_per_kg REAL  -- how sure
        CONSTRAINT opening_sd_mg_per_kg_is_not_negative CHECK (opening_sd_mg_per_kg >= 0),
    notes TEXT NOT NULL DEFAULT '{}' CONSTRAINT notes_are_a_json_object CHECK (json_type(notes) = 'object'),
    CONSTRAINT a_version_comes_once UNIQUE (bin, version)
) STRICT;
CREATE VIEW current_bin AS
SELECT * FROM bin AS given
WHERE withdrawn = 0
    AND NOT EXISTS (SELECT 1 FROM bin AS later
                    WHERE later.bin = given.bin AND later.version > given.version);

-- Grain going from one place to another.
CREATE TABLE move (
    record INTEGER PRIMARY KEY,
    event INTEGER NOT NULL REFERENCES event (sequence),
    version INTEGER NOT NULL CONSTRAINT versions_count_from_1 CHECK (version >= 1),
    withdrawn INTEGER NOT NULL DEFAULT 0 CONSTRAINT withdrawn_is_0_or_1 CHECK (withdrawn IN (0, 1)),
    move TEXT NOT NULL CONSTRAINT move_is_not_empty CHECK (move <> ''),
    time TEXT NOT NULL CONSTRAINT time_is_a_time_with_its_offset CHECK (time LIKE '____-__-__T__:__:_____:__'),
    "from" TEXT NOT NULL CONSTRAINT from_is_not_empty CHECK ("from" <> ''),  -- a load, a bin, or out
    "to" TEXT NOT NULL CONSTRAINT to_is_not_empty CHECK ("to" <> ''),  -- a bin, or out
    mass_t REAL NOT NULL CONSTRAINT mass_t_is_not_negative CHECK (mass_t >= 0),
    kind TEXT  -- empty: dumped
        CONSTRAINT kind_is_a_known_word CHECK (kind IN ('dumped', 'turned', 'withdrawn', 'rejected', 'corrected')),
    advised_bin TEXT,  -- what the program had advised
    operator TEXT,
    reason TEXT,  -- why it went elsewhere
    notes TEXT NOT NULL DEFAULT '{}' CONSTRAINT notes_are_a_json_object CHECK (json_type(notes) = 'object'),
    CONSTRAINT a_version_comes_once UNIQUE (move, version),
    CONSTRAINT grain_moves_between_two_places
        CHECK ("from" <> "to")
) STRICT;
CREATE VIEW current_move AS
SELECT * FROM move AS given
WHERE withdrawn = 0
    AND NOT EXISTS (SELECT 1 FROM move AS later
                    WHERE later.move = given.move AND later.version > given.version);
