-- Schema 1, part 4: grain taken and what was read in it.

-- Grain taken: at a point, as a composite over a field, from a load or a bin.
CREATE TABLE sample (
    record INTEGER PRIMARY KEY,
    event INTEGER NOT NULL REFERENCES event (sequence),
    version INTEGER NOT NULL CONSTRAINT versions_count_from_1 CHECK (version >= 1),
    withdrawn INTEGER NOT NULL DEFAULT 0 CONSTRAINT withdrawn_is_0_or_1 CHECK (withdrawn IN (0, 1)),
    sample TEXT NOT NULL CONSTRAINT sample_is_not_empty CHECK (sample <> ''),  -- its name or bar code
    stage TEXT NOT NULL  -- what was sampled
        CONSTRAINT stage_is_a_known_word CHECK (stage IN ('standing', 'combine', 'truck', 'bin', 'control')),
    kind TEXT NOT NULL  -- one place, or handfuls put together
        CONSTRAINT kind_is_a_known_word CHECK (kind IN ('point', 'composite')),
    field TEXT,  -- a field that has an outline
    part TEXT,  -- a part of it
    load TEXT,  -- the load it was probed from
    bin TEXT,  -- the bin it was probed from
    longitude_deg REAL  -- where, WGS 84
        CONSTRAINT longitude_deg_lies_between_minus_180_and_180 CHECK (longitude_deg BETWEEN -180 AND 180),
    latitude_deg REAL  -- where, WGS 84
        CONSTRAINT latitude_deg_lies_between_minus_90_and_90 CHECK (latitude_deg BETWEEN -90 AND 90),
    taken_time TEXT  -- when
        CONSTRAINT taken_time_is_a_time_with_its_offset CHECK (taken_time LIKE '____-__-__T__:__:_____:__'),
    taken_by TEXT,  -- by whom
    parent TEXT,  -- the sample it was split from
    increments INTEGER  -- handfuls put together
        CONSTRAINT increments_lies_between_1_and_10000 CHECK (increments BETWEEN 1 AND 10000),
    mass_g REAL CONSTRAINT mass_g_is_not_negative CHECK (mass_g >= 0),  -- grain taken
    moisture_pct REAL  -- of the grain, wet basis
        CONSTRAINT moisture_pct_lies_between_0_and_100 CHECK (moisture_pct BETWEEN 0 AND 100),
    seal TEXT,  -- number of the seal
    chosen_because TEXT  -- why this field or load was tested
        CONSTRAINT chosen_because_is_a_known_word
        CHECK (chosen_because IN ('random', 'plan', 'risk', 'looked_bad', 'asked', 'unknown')),
    notes TEXT NOT NULL DEFAULT '{}' CONSTRAINT notes_are_a_json_object CHECK (json_type(notes) = 'object'),
    CONSTRAINT a_version_comes_once UNIQUE (sample, version),
    CONSTRAINT a_position_has_longitude_and_latitude
        CHECK ((longitude_deg IS NULL) = (latitude_deg IS NULL)),
    CONSTRAINT a_part_has_its_field
        CHECK (part IS NULL OR field IS NOT NULL)
) STRICT;
CREATE VIEW current_sample AS
SELECT * FROM sample AS given
WHERE withdrawn = 0
    AND NOT EXISTS (SELECT 1 FROM sample AS later
                    WHERE later.sample = given.sample AND later.version > given.version);

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
    don_mg_per_kg REAL  -- the value, or the bound it lies below or above
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
    CONSTRAINT a_reading_has_a_content_unless_void
        CHECK (reading = 'void' OR don_mg_per_kg IS NOT NULL),
    CONSTRAINT a_void_test_says_why
        CHECK (reading <> 'void' OR void_reason IS NOT NULL),
    CONSTRAINT void_and_valid_exclude_each_other
        CHECK ((reading = 'void') = (coalesce(valid, 1) = 0)),
    CONSTRAINT a_test_does_not_supersede_itself
        CHECK (supersedes <> test)
) STRICT;
CREATE VIEW current_test AS
SELECT * FROM test AS given
WHERE withdrawn = 0
    AND NOT EXISTS (SELECT 1 FROM test AS later
                    WHERE later.test = given.test AND later.version > given.version);
CREATE INDEX test_by_sample ON test (sample);
CREATE INDEX test_by_superseded ON test (supersedes) WHERE supersedes IS NOT NULL;

-- One lot of strips, for one grain and dilution.
CREATE TABLE kit_lot (
    record INTEGER PRIMARY KEY,
    event INTEGER NOT NULL REFERENCES event (sequence),
    version INTEGER NOT NULL CONSTRAINT versions_count_from_1 CHECK (version >= 1),
    withdrawn INTEGER NOT NULL DEFAULT 0 CONSTRAINT withdrawn_is_0_or_1 CHECK (withdrawn IN (0, 1)),
    kit_lot TEXT NOT NULL CONSTRAINT kit_lot_is_not_empty CHECK (kit_lot <> ''),  -- number of the lot
    commodity TEXT NOT NULL CONSTRAINT commodity_is_not_empty CHECK (commodity <> ''),  -- what grain it is made for
    dilution REAL NOT NULL  -- of the extract, 1: none
        CONSTRAINT dilution_lies_between_1_and_1000 CHECK (dilution BETWEEN 1 AND 1000),
    low_mg_per_kg REAL NOT NULL  -- low end of the working range
        CONSTRAINT low_mg_per_kg_is_not_negative CHECK (low_mg_per_kg >= 0),
    high_mg_per_kg REAL NOT NULL  -- high end of the working range
        CONSTRAINT high_mg_per_kg_is_not_negative CHECK (high_mg_per_kg >= 0),
    expires TEXT CONSTRAINT expires_is_a_day CHECK (expires IS date(expires)),  -- last day of use
    signal TEXT  -- what the curve is a function of
        CONSTRAINT signal_is_a_known_word CHECK (signal IN ('test_over_control', 'test')),
    curve_a REAL,
    curve_b REAL,
    curve_c REAL,
    curve_d REAL,
    covariance_aa REAL,  -- of the curve's parameters
    covariance_ab REAL,  -- of the curve's parameters
    covariance_ac REAL,  -- of the curve's parameters
    covariance_ad REAL,  -- of the curve's parameters
    covariance_bb REAL,  -- of the curve's parameters
    covariance_bc REAL,  -- of the curve's parameters
    covariance_bd REAL,  -- of the curve's parameters
    covariance_cc REAL,  -- of the curve's parameters
    covariance_cd REAL,  -- of the curve's parameters
    covariance_dd REAL,  -- of the curve's parameters
    minimum_control_signal REAL  -- a test under it is void
        CONSTRAINT minimum_control_signal_is_not_negative CHECK (minimum_control_signal >= 0),
    incubation_least_s REAL CONSTRAINT incubation_least_s_is_not_negative CHECK (incubation_least_s >= 0),
    incubation_most_s REAL CONSTRAINT incubation_most_s_is_not_negative CHECK (incubation_most_s >= 0),
    temperature_least_degc REAL
        CONSTRAINT temperature_least_degc_lies_between_minus_20_and_60
        CHECK (temperature_least_degc BETWEEN -20 AND 60),
    temperature_most_degc REAL
        CONSTRAINT temperature_most_degc_lies_between_minus_20_and_60
        CHECK (temperature_most_degc BETWEEN -20 AND 60),
    notes TEXT NOT NULL DEFAULT '{}' CONSTRAINT notes_are_a_json_object CHECK (json_type(notes) = 'object'),
    CONSTRAINT a_version_comes_once UNIQUE (kit_lot, commodity, dilution, version),
    CONSTRAINT the_range_is_not_empty
        CHECK (low_mg_per_kg < high_mg_per_kg)
) STRICT;
CREATE VIEW current_kit_lot AS
SELECT * FROM kit_lot AS given
WHERE withdrawn = 0
    AND NOT EXISTS (SELECT 1 FROM kit_lot AS later
                    WHERE later.kit_lot = given.kit_lot
                        AND later.commodity = given.commodity
                        AND later.dilution = given.dilution
                        AND later.version > given.version);

-- A material of known content.
CREATE TABLE control_material (
    record INTEGER PRIMARY KEY,
    event INTEGER NOT NULL REFERENCES event (sequence),
    version INTEGER NOT NULL CONSTRAINT versions_count_from_1 CHECK (version >= 1),
    withdrawn INTEGER NOT NULL DEFAULT 0 CONSTRAINT withdrawn_is_0_or_1 CHECK (withdrawn IN (0, 1)),
    control TEXT NOT NULL CONSTRAINT control_is_not_empty CHECK (control <> ''),
    assigned_mg_per_kg REAL NOT NULL  -- its content
        CONSTRAINT assigned_mg_per_kg_is_not_negative CHECK (assigned_mg_per_kg >= 0),
    standard_uncertainty_mg_per_kg REAL  -- of that content
        CONSTRAINT standard_uncertainty_mg_per_kg_is_not_negative CHECK (standard_uncertainty_mg_per_kg >= 0),
    low_mg_per_kg REAL  -- lowest reading to accept
        CONSTRAINT low_mg_per_kg_is_not_negative CHECK (low_mg_per_kg >= 0),
    high_mg_per_kg REAL  -- highest reading to accept
        CONSTRAINT high_mg_per_kg_is_not_negative CHECK (high_mg_per_kg >= 0),
    basis TEXT CONSTRAINT basis_is_a_known_word CHECK (basis IN ('as_is', 'dry', 'pct12')),
    commodity TEXT,
    expires TEXT CONSTRAINT expires_is_a_day CHECK (expires IS date(expires)),
    notes TEXT NOT NULL DEFAULT '{}' CONSTRAINT notes_are_a_json_object CHECK (json_type(notes) = 'object'),
    CONSTRAINT a_version_comes_once UNIQUE (control, version)
) STRICT;
CREATE VIEW current_control_material AS
SELECT * FROM control_material AS given
WHERE withdrawn = 0
    AND NOT EXISTS (SELECT 1 FROM control_material AS later
                    WHERE later.control = given.control AND later.version > given.version);

-- What the program said before a result was known.
CREATE TABLE forecast (
    record INTEGER PRIMARY KEY,
    event INTEGER NOT NULL REFERENCES event (sequence),
    version INTEGER NOT NULL CONSTRAINT versions_count_from_1 CHECK (version >= 1),
    withdrawn INTEGER NOT NULL DEFAULT 0 CONSTRAINT withdrawn_is_0_or_1 CHECK (withdrawn IN (0, 1)),
    forecast TEXT NOT NULL CONSTRAINT forecast_is_not_empty CHECK (forecast <> ''),
    made_time TEXT NOT NULL
        CONSTRAINT made_time_is_a_time_with_its_offset CHECK (made_time LIKE '____-__-__T__:__:_____:__'),
    season INTEGER NOT NULL,
    field TEXT NOT NULL CONSTRAINT field_is_not_empty CHECK (field <> ''),
    limit_mg_per_kg REAL NOT NULL CONSTRAINT limit_mg_per_kg_is_not_negative CHECK (limit_mg_per_kg >= 0),
    exceedance REAL CONSTRAINT exceedance_lies_between_0_and_1 CHECK (exceedance BETWEEN 0 AND 1),
    median_mg_per_kg REAL CONSTRAINT median_mg_per_kg_is_not_negative CHECK (median_mg_per_kg >= 0),
    low90_mg_per_kg REAL CONSTRAINT low90_mg_per_kg_is_not_negative CHECK (low90_mg_per_kg >= 0),
    high90_mg_per_kg REAL CONSTRAINT high90_mg_per_kg_is_not_negative CHECK (high90_mg_per_kg >= 0),
    results_known INTEGER CONSTRAINT results_known_is_not_negative CHECK (results_known >= 0),
    model TEXT NOT NULL CONSTRAINT model_is_not_empty CHECK (model <> ''),
    notes TEXT NOT NULL DEFAULT '{}' CONSTRAINT notes_are_a_json_object CHECK (json_type(notes) = 'object'),
    CONSTRAINT a_version_comes_once UNIQUE (forecast, version)
) STRICT;
CREATE VIEW current_forecast AS
SELECT * FROM forecast AS given
WHERE withdrawn = 0
    AND NOT EXISTS (SELECT 1 FROM forecast AS later
                    WHERE later.forecast = given.forecast AND later.version > given.version);
