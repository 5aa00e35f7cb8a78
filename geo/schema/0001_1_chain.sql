-- Schema 1, part 1: the chain of records. Every change of the store is one event; an event is never changed or deleted,
-- and each carries the SHA-256 of the one before, so that nobody can alter what was said without its being seen.
-- What the hash is taken over is told in geo/store/chain.h.
CREATE TABLE event (
    sequence INTEGER PRIMARY KEY,  -- 1, 2, 3 ... without a gap
    utc TEXT NOT NULL CONSTRAINT utc_is_a_time_in_utc CHECK (utc LIKE '____-__-__T__:__:__Z'),
    actor TEXT NOT NULL CONSTRAINT actor_is_not_empty CHECK (actor <> ''),
    action TEXT NOT NULL CONSTRAINT action_is_a_known_word
        CHECK (action IN ('create', 'upgrade', 'import', 'record', 'undo')),
    payload TEXT NOT NULL CONSTRAINT payload_is_a_json_object CHECK (json_type(payload) = 'object'),
    undoes INTEGER REFERENCES event (sequence),  -- the event that this one takes back
    previous_sha256 TEXT NOT NULL CONSTRAINT previous_sha256_is_64_digits CHECK (length(previous_sha256) = 64),
    sha256 TEXT NOT NULL CONSTRAINT sha256_is_64_digits CHECK (length(sha256) = 64),
    CONSTRAINT an_event_takes_back_an_earlier_one CHECK (undoes < sequence)
) STRICT;
CREATE INDEX event_by_undone ON event (undoes) WHERE undoes IS NOT NULL;

CREATE TRIGGER event_follows_the_last BEFORE INSERT ON event
WHEN NEW.sequence IS NOT (SELECT coalesce(max(sequence), 0) + 1 FROM event)
    OR NEW.previous_sha256 IS NOT coalesce((SELECT sha256 FROM event ORDER BY sequence DESC LIMIT 1),
                                           printf('%064d', 0))
BEGIN
    SELECT RAISE(ABORT, 'an event must follow the last one of the chain');
END;
CREATE TRIGGER event_is_never_changed BEFORE UPDATE ON event BEGIN
    SELECT RAISE(ABORT, 'the chain of records is never changed');
END;
CREATE TRIGGER event_is_never_deleted BEFORE DELETE ON event BEGIN
    SELECT RAISE(ABORT, 'the chain of records is never shortened');
END;

-- Every table below holds versions. A record is told by its key; a correction is the same key with the next version and
-- a reason in its event. `withdrawn` ends a record without replacing it. `notes` keeps the columns of the user's file
-- that the program has no use for, as a JSON object. The view current_... shows the last version that stands.

-- How tables from one source are read.
CREATE TABLE column_map (
    record INTEGER PRIMARY KEY,
    event INTEGER NOT NULL REFERENCES event (sequence),
    version INTEGER NOT NULL CONSTRAINT versions_count_from_1 CHECK (version >= 1),
    withdrawn INTEGER NOT NULL DEFAULT 0 CONSTRAINT withdrawn_is_0_or_1 CHECK (withdrawn IN (0, 1)),
    name TEXT NOT NULL CONSTRAINT name_is_not_empty CHECK (name <> ''),
    content TEXT NOT NULL CONSTRAINT content_is_not_empty CHECK (content <> ''),  -- TOML
    notes TEXT NOT NULL DEFAULT '{}' CONSTRAINT notes_are_a_json_object CHECK (json_type(notes) = 'object'),
    CONSTRAINT a_version_comes_once UNIQUE (name, version)
) STRICT;
CREATE VIEW current_column_map AS
SELECT * FROM column_map AS given
WHERE withdrawn = 0
    AND NOT EXISTS (SELECT 1 FROM column_map AS later
                    WHERE later.name = given.name AND later.version > given.version);

-- The centre of the flat system that distances and areas are measured in.
CREATE TABLE work_system (
    record INTEGER PRIMARY KEY,
    event INTEGER NOT NULL REFERENCES event (sequence),
    version INTEGER NOT NULL CONSTRAINT versions_count_from_1 CHECK (version >= 1),
    withdrawn INTEGER NOT NULL DEFAULT 0 CONSTRAINT withdrawn_is_0_or_1 CHECK (withdrawn IN (0, 1)),
    name TEXT NOT NULL CONSTRAINT name_is_not_empty CHECK (name <> ''),
    centre_longitude_deg REAL NOT NULL
        CONSTRAINT centre_longitude_deg_lies_between_minus_180_and_180
        CHECK (centre_longitude_deg BETWEEN -180 AND 180),
    centre_latitude_deg REAL NOT NULL
        CONSTRAINT centre_latitude_deg_lies_between_minus_90_and_90 CHECK (centre_latitude_deg BETWEEN -90 AND 90),
    notes TEXT NOT NULL DEFAULT '{}' CONSTRAINT notes_are_a_json_object CHECK (json_type(notes) = 'object'),
    CONSTRAINT a_version_comes_once UNIQUE (name, version)
) STRICT;
CREATE VIEW current_work_system AS
SELECT * FROM work_system AS given
WHERE withdrawn = 0
    AND NOT EXISTS (SELECT 1 FROM work_system AS later
                    WHERE later.name = given.name AND later.version > given.version);
