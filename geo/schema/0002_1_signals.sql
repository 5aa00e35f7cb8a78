-- Schema 2, part 1: a test may have nothing but its signals, and is read from them by the curve of its kit lot.
CREATE TEMPORARY TABLE tests_of_schema_1 AS SELECT * FROM test;
DROP VIEW current_test;
DROP TABLE test;

-- One reading of a sample, by strip or by a laboratory.
CREATE TABLE test (
    record INTEGER PRIMARY KEY,
    event INTEGER NOT NULL REFERENCES event (sequence),
    version INTEGER NOT NULL CONSTRAINT versions_count_from_1 CHECK (version >= 1),
    withdrawn INTEGER NOT NULL DEFAULT 0 CONSTRAINT withdrawn_is_0_or_1 CHECK (withdrawn IN (0, 1)),
    test TEXT NOT NULL CONSTRAINT test_is_not_empty CHECK (test <> ''),  -- its name or number
    time TEXT NOT NULL  -- of the reading
        CONSTRAINT time_is_a_time_with_its_offset CHECK (time LIKE '____-__-__T__:__:_____:__'),
    sample TEXT NOT NULL CONSTRAINT sample_is_not_empty CHECK (sample <> ''),  -- the sample that was read
    reading TEXT NOT NULL  -- a value, below or above the range, or void
        CONSTRAINT reading_is_a_known_word CHECK (reading IN ('value', 'below', 'above', 'void')),
    don_mg_per_kg REAL  -- the value, or the bound it lies below or above; empty: by its signals
        CONSTRAINT don_mg_per_kg_is_not_negative CHECK (don_mg_per_kg >= 0),
    test_signal REAL  -- of the test line, where the reader gives it
        CONSTRAINT test_signal_is_not_negative CHECK (test_signal >= 0),
    control_signal REAL CONSTRAINT control_signal_is_not_negative CHECK (control_signal >= 0),  -- of the control line
    method TEXT CONSTRAINT method_is_a_known_word CHECK (method IN ('strip', 'laboratory')),  -- empty: strip
    commodity TEXT,  -- what grain
    kit_lot TEXT,  -- number of the kit lot
    extra_dilution REAL  -- 1 or empty: none; 5: one part of extract in five
        CONSTRAINT extra_dilution_lies_between_1_and_1000 CHECK (extra_dilution BETWEEN 1 AND 1000),
    grind TEXT,  -- how fine it was ground
    extract TEXT,  -- what it was extracted with
    portion_g REAL CONSTRAINT portion_g_is_not_negative CHECK (portion_g >= 0),  -- ground grain extracted
    basis TEXT CONSTRAINT basis_is_a_known_word CHECK (basis IN ('as_is', 'dry', 'pct12')),  -- empty: as is
    standard_uncertainty_mg_per_kg REAL  -- of the method, where it is stated
        CONSTRAINT standard_uncertainty_mg_per_kg_is_not_negative CHECK (standard_uncertainty_mg_per_kg >= 0),
    loq_mg_per_kg REAL  -- smallest content the method quantifies
        CONSTRAINT loq_mg_per_kg_is_not_negative CHECK (loq_mg_per_kg >= 0),
    recovery_pct REAL  -- of the method
        CONSTRAINT recovery_pct_lies_between_0_and_300 CHECK (recovery_pct BETWEEN 0 AND 300),
    recovery_corrected INTEGER  -- the value is corrected for it
        CONSTRAINT recovery_corrected_is_0_or_1 CHECK (recovery_corrected IN (0, 1)),
    incubation_s REAL CONSTRAINT incubation_s_is_not_negative CHECK (incubation_s >= 0),  -- of the strip
    temperature_degc REAL  -- of the strip
        CONSTRAINT temperature_degc_lies_between_minus_20_and_60 CHECK (temperature_degc BETWEEN -20 AND 60),
    valid INTEGER CONSTRAINT valid_is_0_or_1 CHECK (valid IN (0, 1)),  -- empty: yes
    void_reason TEXT,  -- why the test is void; needed when valid is no
    operator TEXT,  -- who read it
    reader TEXT,  -- with which reader
    supersedes TEXT,  -- an earlier test that this one corrects
    notes TEXT NOT NULL DEFAULT '{}' CONSTRAINT notes_are_a_json_object CHECK (json_type(notes) = 'object'),
    CONSTRAINT a_version_comes_once UNIQUE (test, version),
    CONSTRAINT a_reading_has_a_content_or_signals_unless_void
        CHECK (reading = 'void' OR don_mg_per_kg IS NOT NULL OR (reading = 'value' AND test_signal IS NOT NULL)),
    CONSTRAINT a_void_test_says_why
        CHECK (reading <> 'void' OR void_reason IS NOT NULL),
    CONSTRAINT void_and_valid_exclude_each_other
        CHECK ((reading = 'void') = (coalesce(valid, 1) = 0)),
    CONSTRAINT a_test_does_not_supersede_itself
        CHECK (supersedes <> test)
) STRICT;
INSERT INTO test SELECT * FROM tests_of_schema_1;
DROP TABLE tests_of_schema_1;
CREATE VIEW current_test AS
SELECT * FROM test AS given
WHERE withdrawn = 0
    AND NOT EXISTS (SELECT 1 FROM test AS later
                    WHERE later.test = given.test AND later.version > given.version);
CREATE INDEX test_by_sample ON test (sample);
CREATE INDEX test_by_superseded ON test (supersedes) WHERE supersedes IS NOT NULL;
CREATE TRIGGER test_is_never_changed BEFORE UPDATE ON test BEGIN
    SELECT RAISE(ABORT, 'a record of tests is never changed; give the right one as a correction with a reason');
END;
CREATE TRIGGER test_is_never_deleted BEFORE DELETE ON test BEGIN
    SELECT RAISE(ABORT, 'a record of tests is never deleted; give the right one as a correction with a reason');
END;
