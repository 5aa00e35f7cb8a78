-- Schema 1, part 3: weather stations and their hours. A block is one station in one month of UTC.

-- A weather station.
CREATE TABLE station (
    record INTEGER PRIMARY KEY,
    event INTEGER NOT NULL REFERENCES event (sequence),
    version INTEGER NOT NULL CONSTRAINT versions_count_from_1 CHECK (version >= 1),
    withdrawn INTEGER NOT NULL DEFAULT 0 CONSTRAINT withdrawn_is_0_or_1 CHECK (withdrawn IN (0, 1)),
    station TEXT NOT NULL CONSTRAINT station_is_not_empty CHECK (station <> ''),  -- its name
    longitude_deg REAL NOT NULL
        CONSTRAINT longitude_deg_lies_between_minus_180_and_180 CHECK (longitude_deg BETWEEN -180 AND 180),
    latitude_deg REAL NOT NULL
        CONSTRAINT latitude_deg_lies_between_minus_90_and_90 CHECK (latitude_deg BETWEEN -90 AND 90),
    notes TEXT NOT NULL DEFAULT '{}' CONSTRAINT notes_are_a_json_object CHECK (json_type(notes) = 'object'),
    CONSTRAINT a_version_comes_once UNIQUE (station, version)
) STRICT;
CREATE VIEW current_station AS
SELECT * FROM station AS given
WHERE withdrawn = 0
    AND NOT EXISTS (SELECT 1 FROM station AS later
                    WHERE later.station = given.station AND later.version > given.version);

-- The hours of one station in one month, as bytes.
CREATE TABLE weather_block (
    record INTEGER PRIMARY KEY,
    event INTEGER NOT NULL REFERENCES event (sequence),
    version INTEGER NOT NULL CONSTRAINT versions_count_from_1 CHECK (version >= 1),
    withdrawn INTEGER NOT NULL DEFAULT 0 CONSTRAINT withdrawn_is_0_or_1 CHECK (withdrawn IN (0, 1)),
    station TEXT NOT NULL CONSTRAINT station_is_not_empty CHECK (station <> ''),
    month TEXT NOT NULL CONSTRAINT month_is_not_empty CHECK (month <> ''),  -- 2026-06
    hours INTEGER NOT NULL CONSTRAINT hours_is_not_negative CHECK (hours >= 0),
    content_sha256 TEXT NOT NULL  -- SHA-256 of the bytes
        CONSTRAINT content_sha256_is_not_empty CHECK (content_sha256 <> ''),
    content BLOB NOT NULL,  -- as geo/weather_table.h packs it
    notes TEXT NOT NULL DEFAULT '{}' CONSTRAINT notes_are_a_json_object CHECK (json_type(notes) = 'object'),
    CONSTRAINT a_version_comes_once UNIQUE (station, month, version),
    CONSTRAINT content_sha256_is_64_digits
        CHECK (length(content_sha256) = 64),
    CONSTRAINT month_is_a_month
        CHECK (month LIKE '____-__')
) STRICT;
CREATE VIEW current_weather_block AS
SELECT * FROM weather_block AS given
WHERE withdrawn = 0
    AND NOT EXISTS (SELECT 1 FROM weather_block AS later
                    WHERE later.station = given.station
                        AND later.month = given.month
                        AND later.version > given.version);
