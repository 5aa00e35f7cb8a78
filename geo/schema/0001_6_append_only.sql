-- Schema 1, part 6: nothing that was said is ever changed or deleted.
CREATE TRIGGER work_system_is_never_changed BEFORE UPDATE ON work_system BEGIN
    SELECT RAISE(ABORT, 'a record of work-system is never changed; give the right one as a correction with a reason');
END;
CREATE TRIGGER work_system_is_never_deleted BEFORE DELETE ON work_system BEGIN
    SELECT RAISE(ABORT, 'a record of work-system is never deleted; give the right one as a correction with a reason');
END;
CREATE TRIGGER column_map_is_never_changed BEFORE UPDATE ON column_map BEGIN
    SELECT RAISE(ABORT, 'a record of column-maps is never changed; give the right one as a correction with a reason');
END;
CREATE TRIGGER column_map_is_never_deleted BEFORE DELETE ON column_map BEGIN
    SELECT RAISE(ABORT, 'a record of column-maps is never deleted; give the right one as a correction with a reason');
END;
CREATE TRIGGER field_outline_is_never_changed BEFORE UPDATE ON field_outline BEGIN
    SELECT RAISE(ABORT, 'a record of fields is never changed; give the right one as a correction with a reason');
END;
CREATE TRIGGER field_outline_is_never_deleted BEFORE DELETE ON field_outline BEGIN
    SELECT RAISE(ABORT, 'a record of fields is never deleted; give the right one as a correction with a reason');
END;
CREATE TRIGGER crop_record_is_never_changed BEFORE UPDATE ON crop_record BEGIN
    SELECT RAISE(ABORT, 'a record of crops is never changed; give the right one as a correction with a reason');
END;
CREATE TRIGGER crop_record_is_never_deleted BEFORE DELETE ON crop_record BEGIN
    SELECT RAISE(ABORT, 'a record of crops is never deleted; give the right one as a correction with a reason');
END;
CREATE TRIGGER scouting_is_never_changed BEFORE UPDATE ON scouting BEGIN
    SELECT RAISE(ABORT, 'a record of scouting is never changed; give the right one as a correction with a reason');
END;
CREATE TRIGGER scouting_is_never_deleted BEFORE DELETE ON scouting BEGIN
    SELECT RAISE(ABORT, 'a record of scouting is never deleted; give the right one as a correction with a reason');
END;
CREATE TRIGGER station_is_never_changed BEFORE UPDATE ON station BEGIN
    SELECT RAISE(ABORT, 'a record of stations is never changed; give the right one as a correction with a reason');
END;
CREATE TRIGGER station_is_never_deleted BEFORE DELETE ON station BEGIN
    SELECT RAISE(ABORT, 'a record of stations is never deleted; give the right one as a correction with a reason');
END;
CREATE TRIGGER weather_block_is_never_changed BEFORE UPDATE ON weather_block BEGIN
    SELECT RAISE(ABORT, 'a record of weather-blocks is never changed; give the right one as a correction with a reason');
END;
CREATE TRIGGER weather_block_is_never_deleted BEFORE DELETE ON weather_block BEGIN
    SELECT RAISE(ABORT, 'a record of weather-blocks is never deleted; give the right one as a correction with a reason');
END;
CREATE TRIGGER content_limit_is_never_changed BEFORE UPDATE ON content_limit BEGIN
    SELECT RAISE(ABORT, 'a record of limits is never changed; give the right one as a correction with a reason');
END;
CREATE TRIGGER content_limit_is_never_deleted BEFORE DELETE ON content_limit BEGIN
    SELECT RAISE(ABORT, 'a record of limits is never deleted; give the right one as a correction with a reason');
END;
CREATE TRIGGER contract_is_never_changed BEFORE UPDATE ON contract BEGIN
    SELECT RAISE(ABORT, 'a record of contracts is never changed; give the right one as a correction with a reason');
END;
CREATE TRIGGER contract_is_never_deleted BEFORE DELETE ON contract BEGIN
    SELECT RAISE(ABORT, 'a record of contracts is never deleted; give the right one as a correction with a reason');
END;
CREATE TRIGGER cost_is_never_changed BEFORE UPDATE ON cost BEGIN
    SELECT RAISE(ABORT, 'a record of costs is never changed; give the right one as a correction with a reason');
END;
CREATE TRIGGER cost_is_never_deleted BEFORE DELETE ON cost BEGIN
    SELECT RAISE(ABORT, 'a record of costs is never deleted; give the right one as a correction with a reason');
END;
CREATE TRIGGER kit_lot_is_never_changed BEFORE UPDATE ON kit_lot BEGIN
    SELECT RAISE(ABORT, 'a record of kit-lots is never changed; give the right one as a correction with a reason');
END;
CREATE TRIGGER kit_lot_is_never_deleted BEFORE DELETE ON kit_lot BEGIN
    SELECT RAISE(ABORT, 'a record of kit-lots is never deleted; give the right one as a correction with a reason');
END;
CREATE TRIGGER control_material_is_never_changed BEFORE UPDATE ON control_material BEGIN
    SELECT RAISE(ABORT, 'a record of controls is never changed; give the right one as a correction with a reason');
END;
CREATE TRIGGER control_material_is_never_deleted BEFORE DELETE ON control_material BEGIN
    SELECT RAISE(ABORT, 'a record of controls is never deleted; give the right one as a correction with a reason');
END;
CREATE TRIGGER load_is_never_changed BEFORE UPDATE ON load BEGIN
    SELECT RAISE(ABORT, 'a record of loads is never changed; give the right one as a correction with a reason');
END;
CREATE TRIGGER load_is_never_deleted BEFORE DELETE ON load BEGIN
    SELECT RAISE(ABORT, 'a record of loads is never deleted; give the right one as a correction with a reason');
END;
CREATE TRIGGER load_part_is_never_changed BEFORE UPDATE ON load_part BEGIN
    SELECT RAISE(ABORT, 'a record of load-parts is never changed; give the right one as a correction with a reason');
END;
CREATE TRIGGER load_part_is_never_deleted BEFORE DELETE ON load_part BEGIN
    SELECT RAISE(ABORT, 'a record of load-parts is never deleted; give the right one as a correction with a reason');
END;
CREATE TRIGGER bin_is_never_changed BEFORE UPDATE ON bin BEGIN
    SELECT RAISE(ABORT, 'a record of bins is never changed; give the right one as a correction with a reason');
END;
CREATE TRIGGER bin_is_never_deleted BEFORE DELETE ON bin BEGIN
    SELECT RAISE(ABORT, 'a record of bins is never deleted; give the right one as a correction with a reason');
END;
CREATE TRIGGER sample_is_never_changed BEFORE UPDATE ON sample BEGIN
    SELECT RAISE(ABORT, 'a record of samples is never changed; give the right one as a correction with a reason');
END;
CREATE TRIGGER sample_is_never_deleted BEFORE DELETE ON sample BEGIN
    SELECT RAISE(ABORT, 'a record of samples is never deleted; give the right one as a correction with a reason');
END;
CREATE TRIGGER test_is_never_changed BEFORE UPDATE ON test BEGIN
    SELECT RAISE(ABORT, 'a record of tests is never changed; give the right one as a correction with a reason');
END;
CREATE TRIGGER test_is_never_deleted BEFORE DELETE ON test BEGIN
    SELECT RAISE(ABORT, 'a record of tests is never deleted; give the right one as a correction with a reason');
END;
CREATE TRIGGER move_is_never_changed BEFORE UPDATE ON move BEGIN
    SELECT RAISE(ABORT, 'a record of moves is never changed; give the right one as a correction with a reason');
END;
CREATE TRIGGER move_is_never_deleted BEFORE DELETE ON move BEGIN
    SELECT RAISE(ABORT, 'a record of moves is never deleted; give the right one as a correction with a reason');
END;
CREATE TRIGGER forecast_is_never_changed BEFORE UPDATE ON forecast BEGIN
    SELECT RAISE(ABORT, 'a record of forecasts is never changed; give the right one as a correction with a reason');
END;
CREATE TRIGGER forecast_is_never_deleted BEFORE DELETE ON forecast BEGIN
    SELECT RAISE(ABORT, 'a record of forecasts is never deleted; give the right one as a correction with a reason');
END;
