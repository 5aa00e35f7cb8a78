-- Schema 2, part 2: strips of a kit lot run on material of known content, where its curve does not come as parameters.
CREATE TABLE calibrator (
    record INTEGER PRIMARY KEY,
    event INTEGER NOT NULL REFERENCES event (sequence),
    version INTEGER NOT NULL CONSTRAINT versions_count_from_1 CHECK (version >= 1),
    withdrawn INTEGER NOT NULL DEFAULT 0 CONSTRAINT withdrawn_is_0_or_1 CHECK (withdrawn IN (0, 1)),
    kit_lot TEXT NOT NULL CONSTRAINT kit_lot_is_not_empty CHECK (kit_lot <> ''),  -- number of the lot
    commodity TEXT NOT NULL CONSTRAINT commodity_is_not_empty CHECK (commodity <> ''),  -- of what grain
    dilution REAL NOT NULL  -- of the extract, as of the lot
        CONSTRAINT dilution_lies_between_1_and_1000 CHECK (dilution BETWEEN 1 AND 1000),
    content_mg_per_kg REAL NOT NULL  -- of the grain, by the lot's procedure
        CONSTRAINT content_mg_per_kg_is_not_negative CHECK (content_mg_per_kg >= 0),
    replicate INTEGER NOT NULL CONSTRAINT replicate_counts_from_1 CHECK (replicate BETWEEN 1 AND 1000),
    signal REAL NOT NULL CONSTRAINT signal_is_not_negative CHECK (signal >= 0),  -- as the lot's curve has it
    signal_sd REAL CONSTRAINT signal_sd_is_above_zero CHECK (signal_sd > 0),  -- weighs the strip by 1 / sd^2
    notes TEXT NOT NULL DEFAULT '{}' CONSTRAINT notes_are_a_json_object CHECK (json_type(notes) = 'object'),
    CONSTRAINT a_version_comes_once UNIQUE (kit_lot, commodity, dilution, content_mg_per_kg, replicate, version)
) STRICT;
CREATE VIEW current_calibrator AS
SELECT * FROM calibrator AS given
WHERE withdrawn = 0
    AND NOT EXISTS (SELECT 1 FROM calibrator AS later
                    WHERE later.kit_lot = given.kit_lot
                        AND later.commodity = given.commodity
                        AND later.dilution = given.dilution
                        AND later.content_mg_per_kg = given.content_mg_per_kg
                        AND later.replicate = given.replicate
                        AND later.version > given.version);
CREATE TRIGGER calibrator_is_never_changed BEFORE UPDATE ON calibrator BEGIN
    SELECT RAISE(ABORT, 'a record of calibrators is never changed; give the right one as a correction with a reason');
END;
CREATE TRIGGER calibrator_is_never_deleted BEFORE DELETE ON calibrator BEGIN
    SELECT RAISE(ABORT, 'a record of calibrators is never deleted; give the right one as a correction with a reason');
END;
