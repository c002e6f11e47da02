"""Database triggers that make tables append-only, as reversible migration operations."""

from __future__ import annotations

from django.db import migrations

REFUSE_CHANGE = """
CREATE OR REPLACE FUNCTION shopcool_refuse_change() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION 'Rows of % are never changed or deleted; correct them with a new row.', TG_TABLE_NAME
        USING ERRCODE = 'integrity_constraint_violation';
END $$;
"""


def refuse_change_function() -> migrations.RunSQL:
    """Install the function that the append-only triggers call."""
    return migrations.RunSQL(REFUSE_CHANGE, "DROP FUNCTION IF EXISTS shopcool_refuse_change();")


def append_only(table: str) -> migrations.RunSQL:
    """Refuse UPDATE and DELETE on a table, whoever asks: ORM, raw SQL or a shell."""
    return migrations.RunSQL(
        f"CREATE TRIGGER append_only BEFORE UPDATE OR DELETE ON {table} "
        f"FOR EACH ROW EXECUTE FUNCTION shopcool_refuse_change();",
        f"DROP TRIGGER append_only ON {table};",
    )
