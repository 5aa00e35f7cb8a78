-- Schema 3: strips that are running. Nothing of a test is known before it is read but when its strip was started; that
-- is kept at once, so that a power cut loses no clock.

-- A strip that was started. It runs until a test bears its name.
CREATE TABLE strip (
    record INTEGER PRIMARY KEY,
    event INTEGER NOT NULL REFERENCES event (sequence),
    version INTEGER NOT NULL CONSTRAINT versions_count_from_1 CHECK (version >= 1),
    withdrawn INTEGER NOT NULL DEFAULT 0 CONSTRAINT withdrawn_is_0_or_1 CHECK (withdrawn IN (0, 1)),
    strip TEXT NOT NULL CONSTRAINT strip_is_not_empty CHECK (strip <> ''),  -- its name, which its test bears
    sample TEXT NOT NULL CONSTRAINT sample_is_not_empty CHECK (sample <> ''),  -- the sample it is run on
    started TEXT NOT NULL  -- when it was put into its extract
        CONSTRAINT started_is_a_time_with_its_offset CHECK (started LIKE '____-__-__T__:__:_____:__'),
    kit_lot TEXT,  -- number of the kit lot
    commodity TEXT,  -- what grain
    lot_dilution REAL  -- which of the kit lot's, where it has several
        CONSTRAINT lot_dilution_lies_between_1_and_1000 CHECK (lot_dilution BETWEEN 1 AND 1000),
    operator TEXT,  -- who started it
    notes TEXT NOT NULL DEFAULT '{}' CONSTRAINT notes_are_a_json_object CHECK (json_type(notes) = 'object'),
    CONSTRAINT a_version_comes_once UNIQUE (strip, version)
) STRICT;
CREATE VIEW current_strip AS
SELECT * FROM strip AS given
WHERE withdrawn = 0
    AND NOT EXISTS (SELECT 1 FROM strip AS later
                    WHERE later.strip = given.strip AND later.version > given.version);
CREATE TRIGGER strip_is_never_changed BEFORE UPDATE ON strip BEGIN
    SELECT RAISE(ABORT, 'a record of strips is never changed; give the right one as a correction with a reason');
END;
CREATE TRIGGER strip_is_never_deleted BEFORE DELETE ON strip BEGIN
    SELECT RAISE(ABORT, 'a record of strips is never deleted; give the right one as a correction with a reason');
END;
