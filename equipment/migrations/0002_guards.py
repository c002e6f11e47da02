"""Make the logs append-only and tie every connection to a clearance of the same transaction."""

from django.db import migrations

from shopcool.core.triggers import append_only

CLEARANCE = """
CREATE FUNCTION equipment_stamp_clearance() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    NEW.transaction_number := pg_current_xact_id()::text::bigint;
    RETURN NEW;
END $$;
CREATE TRIGGER stamp_transaction BEFORE INSERT ON equipment_clearance
    FOR EACH ROW EXECUTE FUNCTION equipment_stamp_clearance();
"""
DROP_CLEARANCE = """
DROP TRIGGER stamp_transaction ON equipment_clearance;
DROP FUNCTION equipment_stamp_clearance();
"""

CONNECTION = """
CREATE FUNCTION equipment_guard_connection_insert() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    clearance equipment_clearance%ROWTYPE;
BEGIN
    SELECT * INTO clearance FROM equipment_clearance WHERE id = NEW.clearance_id;
    IF clearance.verdict NOT IN ('PERMITTED', 'OVERRIDDEN')
        OR clearance.circuit_id <> NEW.circuit_id
        OR clearance.job_number <> NEW.job_number
        OR NOT NEW.piece_id = ANY (clearance.piece_ids)
        OR clearance.transaction_number <> pg_current_xact_id()::text::bigint
    THEN
        RAISE EXCEPTION 'A piece is connected only together with a clearance that allows it.'
            USING ERRCODE = 'integrity_constraint_violation';
    END IF;
    RETURN NEW;
END $$;
CREATE TRIGGER cleared BEFORE INSERT ON equipment_connection
    FOR EACH ROW EXECUTE FUNCTION equipment_guard_connection_insert();

CREATE FUNCTION equipment_guard_connection_change() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF TG_OP = 'DELETE'
        OR OLD.disconnected_at IS NOT NULL
        OR (NEW.piece_id, NEW.circuit_id, NEW.job_number, NEW.clearance_id, NEW.connected_at, NEW.connected_by_id)
           IS DISTINCT FROM
           (OLD.piece_id, OLD.circuit_id, OLD.job_number, OLD.clearance_id, OLD.connected_at, OLD.connected_by_id)
    THEN
        RAISE EXCEPTION 'A connection can only be ended, once.'
            USING ERRCODE = 'integrity_constraint_violation';
    END IF;
    RETURN NEW;
END $$;
CREATE TRIGGER end_only BEFORE UPDATE OR DELETE ON equipment_connection
    FOR EACH ROW EXECUTE FUNCTION equipment_guard_connection_change();
"""
DROP_CONNECTION = """
DROP TRIGGER end_only ON equipment_connection;
DROP FUNCTION equipment_guard_connection_change();
DROP TRIGGER cleared ON equipment_connection;
DROP FUNCTION equipment_guard_connection_insert();
"""


class Migration(migrations.Migration):
    """Database guards of the equipment."""

    dependencies = [("equipment", "0001_initial"), ("core", "0002_append_only")]

    operations = [
        append_only("equipment_exposure"),
        append_only("equipment_purge"),
        append_only("equipment_clearance"),
        migrations.RunSQL(CLEARANCE, DROP_CLEARANCE),
        migrations.RunSQL(CONNECTION, DROP_CONNECTION),
    ]
