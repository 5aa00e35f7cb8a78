-- Schema 1, part 2: fields, what grew on them, disease seen by eye.

-- An outline of a field, or of a part of it with a crop record of its own.
CREATE TABLE field_outline (
    record INTEGER PRIMARY KEY,
    event INTEGER NOT NULL REFERENCES event (sequence),
    version INTEGER NOT NULL CONSTRAINT versions_count_from_1 CHECK (version >= 1),
    withdrawn INTEGER NOT NULL DEFAULT 0 CONSTRAINT withdrawn_is_0_or_1 CHECK (withdrawn IN (0, 1)),
    field TEXT NOT NULL  -- the field's name or number, as everyone calls it
        CONSTRAINT field_is_not_empty CHECK (field <> ''),
    part TEXT NOT NULL DEFAULT '',  -- a part of the field; empty: the whole field
    name TEXT,  -- a longer name
    grower TEXT,  -- who grows it
    outline_sha256 TEXT NOT NULL  -- SHA-256 of the outline's WKB
        CONSTRAINT outline_sha256_is_not_empty CHECK (outline_sha256 <> ''),
    outline BLOB NOT NULL,  -- MULTIPOLYGON, EPSG:4326, longitude first
    notes TEXT NOT NULL DEFAULT '{}' CONSTRAINT notes_are_a_json_object CHECK (json_type(notes) = 'object'),
    CONSTRAINT a_version_comes_once UNIQUE (field, part, version),
    CONSTRAINT outline_sha256_is_64_digits
        CHECK (length(outline_sha256) = 64)
) STRICT;
CREATE VIEW current_field_outline AS
SELECT * FROM field_outline AS given
WHERE withdrawn = 0
    AND NOT EXISTS (SELECT 1 FROM field_outline AS later
                    WHERE later.field = given.field AND later.part = given.part AND later.version > given.version);
SELECT RecoverGeometryColumn('field_outline', 'outline', 4326, 'MULTIPOLYGON', 'XY');
SELECT CreateSpatialIndex('field_outline', 'outline');
INSERT INTO views_geometry_columns (view_name, view_geometry, view_rowid, f_table_name, f_geometry_column, read_only)
VALUES ('current_field_outline', 'outline', 'record', 'field_outline', 'outline', 1);

-- What grew in one season on a field or a part of it.
CREATE TABLE crop_record (
    record INTEGER PRIMARY KEY,
    event INTEGER NOT NULL REFERENCES event (sequence),
    version INTEGER NOT NULL CONSTRAINT versions_count_from_1 CHECK (version >= 1),
    withdrawn INTEGER NOT NULL DEFAULT 0 CONSTRAINT withdrawn_is_0_or_1 CHECK (withdrawn IN (0, 1)),
    field TEXT NOT NULL CONSTRAINT field_is_not_empty CHECK (field <> ''),  -- a field that has an outline
    part TEXT NOT NULL DEFAULT '',  -- a part of it; empty: the whole field
    season INTEGER NOT NULL  -- the year of harvest
        CONSTRAINT season_lies_between_1900_and_2200 CHECK (season BETWEEN 1900 AND 2200),
    crop TEXT NOT NULL  -- what grew
        CONSTRAINT crop_is_a_known_word
        CHECK (crop IN ('wheat', 'durum', 'barley', 'oats', 'maize', 'rye', 'triticale')),
    wheat_type TEXT  -- sown in autumn or in spring
        CONSTRAINT wheat_type_is_a_known_word CHECK (wheat_type IN ('winter', 'spring')),
    cultivar TEXT,  -- name of the variety
    resistance TEXT  -- to head blight: very susceptible ... moderately resistant
        CONSTRAINT resistance_is_a_known_word CHECK (resistance IN ('VS', 'S', 'MS', 'MR')),
    previous_crop TEXT,  -- the crop before
    before_previous_crop TEXT,  -- the crop before that
    residue TEXT  -- of the previous crop on the surface
        CONSTRAINT residue_is_a_known_word CHECK (residue IN ('none', 'some', 'heavy')),
    tillage TEXT  -- before sowing
        CONSTRAINT tillage_is_a_known_word CHECK (tillage IN ('plough', 'reduced', 'none')),
    irrigated INTEGER CONSTRAINT irrigated_is_0_or_1 CHECK (irrigated IN (0, 1)),  -- around flowering
    sowing_date TEXT CONSTRAINT sowing_date_is_a_day CHECK (sowing_date IS date(sowing_date)),  -- day of sowing
    heading_date TEXT CONSTRAINT heading_date_is_a_day CHECK (heading_date IS date(heading_date)),  -- day of heading
    flowering_date TEXT  -- day of half flowering
        CONSTRAINT flowering_date_is_a_day CHECK (flowering_date IS date(flowering_date)),
    flowering_start TEXT  -- first day of flowering
        CONSTRAINT flowering_start_is_a_day CHECK (flowering_start IS date(flowering_start)),
    flowering_end TEXT  -- last day of flowering
        CONSTRAINT flowering_end_is_a_day CHECK (flowering_end IS date(flowering_end)),
    flowering_source TEXT  -- how the flowering date is known
        CONSTRAINT flowering_source_is_a_known_word CHECK (flowering_source IN ('observed', 'estimated')),
    spray_active INTEGER  -- a spray against head blight was made
        CONSTRAINT spray_active_is_0_or_1 CHECK (spray_active IN (0, 1)),
    spray_date TEXT CONSTRAINT spray_date_is_a_day CHECK (spray_date IS date(spray_date)),  -- day of that spray
    status TEXT  -- where the crop is
        CONSTRAINT status_is_a_known_word CHECK (status IN ('standing', 'cut', 'delivered')),
    expected_cut_date TEXT  -- when it will be cut
        CONSTRAINT expected_cut_date_is_a_day CHECK (expected_cut_date IS date(expected_cut_date)),
    yield_t_per_ha REAL  -- yield
        CONSTRAINT yield_t_per_ha_lies_between_0_and_30 CHECK (yield_t_per_ha BETWEEN 0 AND 30),
    notes TEXT NOT NULL DEFAULT '{}' CONSTRAINT notes_are_a_json_object CHECK (json_type(notes) = 'object'),
    CONSTRAINT a_version_comes_once UNIQUE (field, part, season, version),
    CONSTRAINT flowering_starts_before_it_ends
        CHECK (flowering_start <= flowering_end),
    CONSTRAINT flowering_comes_after_sowing
        CHECK (sowing_date < flowering_date),
    CONSTRAINT heading_comes_after_sowing
        CHECK (sowing_date < heading_date)
) STRICT;
CREATE VIEW current_crop_record AS
SELECT * FROM crop_record AS given
WHERE withdrawn = 0
    AND NOT EXISTS (SELECT 1 FROM crop_record AS later
                    WHERE later.field = given.field
                        AND later.part = given.part
                        AND later.season = given.season
                        AND later.version > given.version);

-- Disease seen by eye in a field on one day.
CREATE TABLE scouting (
    record INTEGER PRIMARY KEY,
    event INTEGER NOT NULL REFERENCES event (sequence),
    version INTEGER NOT NULL CONSTRAINT versions_count_from_1 CHECK (version >= 1),
    withdrawn INTEGER NOT NULL DEFAULT 0 CONSTRAINT withdrawn_is_0_or_1 CHECK (withdrawn IN (0, 1)),
    field TEXT NOT NULL CONSTRAINT field_is_not_empty CHECK (field <> ''),  -- a field that has an outline
    date TEXT NOT NULL CONSTRAINT date_is_a_day CHECK (date IS date(date)),  -- day of the visit
    growth_stage TEXT,  -- of the crop
    heads INTEGER CONSTRAINT heads_is_not_negative CHECK (heads >= 0),  -- heads looked at
    incidence_pct REAL  -- heads with disease
        CONSTRAINT incidence_pct_lies_between_0_and_100 CHECK (incidence_pct BETWEEN 0 AND 100),
    severity_pct REAL  -- spikelets with disease, over all heads
        CONSTRAINT severity_pct_lies_between_0_and_100 CHECK (severity_pct BETWEEN 0 AND 100),
    damaged_kernels_pct REAL  -- damaged kernels in threshed grain
        CONSTRAINT damaged_kernels_pct_lies_between_0_and_100 CHECK (damaged_kernels_pct BETWEEN 0 AND 100),
    notes TEXT NOT NULL DEFAULT '{}' CONSTRAINT notes_are_a_json_object CHECK (json_type(notes) = 'object'),
    CONSTRAINT a_version_comes_once UNIQUE (field, date, version)
) STRICT;
CREATE VIEW current_scouting AS
SELECT * FROM scouting AS given
WHERE withdrawn = 0
    AND NOT EXISTS (SELECT 1 FROM scouting AS later
                    WHERE later.field = given.field AND later.date = given.date AND later.version > given.version);
