"""Install the guard that keeps records append-only, and let chain heads only move forward."""

from django.db import migrations

from shopcool.core.triggers import refuse_change_function

GUARD_HEADS = """
CREATE FUNCTION shopcool_guard_stream_head() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF TG_OP = 'DELETE' OR NEW.stream <> OLD.stream OR NEW.sequence <> OLD.sequence + 1 THEN
        RAISE EXCEPTION 'The head of a record stream only moves forward, one row at a time.'
            USING ERRCODE = 'integrity_constraint_violation';
    END IF;
    RETURN NEW;
END $$;
CREATE TRIGGER forward_only BEFORE UPDATE OR DELETE ON core_streamhead
    FOR EACH ROW EXECUTE FUNCTION shopcool_guard_stream_head();
"""
RELEASE_HEADS = """
DROP TRIGGER forward_only ON core_streamhead;
DROP FUNCTION shopcool_guard_stream_head();
"""


class Migration(migrations.Migration):
    """Append-only guards of the core."""

    dependencies = [("core", "0001_initial")]

    operations = [refuse_change_function(), migrations.RunSQL(GUARD_HEADS, RELEASE_HEADS)]
