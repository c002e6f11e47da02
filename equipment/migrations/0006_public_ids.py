"""Give every piece the name that its printed label carries, and keep that name for ever."""

from django.apps.registry import Apps
from django.db import migrations, models
from django.db.backends.base.schema import BaseDatabaseSchemaEditor

from equipment.public_ids import new_public_id

KEEP = """
CREATE FUNCTION equipment_keep_public_id() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION 'The public name of a piece is printed on its label and never changes.'
        USING ERRCODE = 'integrity_constraint_violation';
END $$;
CREATE TRIGGER keep_public_id BEFORE UPDATE ON equipment_piece
    FOR EACH ROW WHEN (OLD.public_id IS DISTINCT FROM NEW.public_id) EXECUTE FUNCTION equipment_keep_public_id();
"""
LET_GO = """
DROP TRIGGER keep_public_id ON equipment_piece;
DROP FUNCTION equipment_keep_public_id();
"""


def name_pieces(apps: Apps, schema_editor: BaseDatabaseSchemaEditor) -> None:
    """Give each piece that exists a name of its own."""
    pieces = apps.get_model("equipment", "Piece").objects
    for piece in pieces.filter(public_id=None).iterator():
        pieces.filter(pk=piece.pk).update(public_id=new_public_id())


class Migration(migrations.Migration):
    """Public names of the pieces."""

    dependencies = [("equipment", "0005_maintenance")]

    operations = [
        migrations.AddField(
            model_name="piece",
            name="public_id",
            field=models.CharField(max_length=10, null=True, editable=False),
        ),
        migrations.RunPython(name_pieces, migrations.RunPython.noop),
        # The rows wait for checks that must be done before the table changes again.
        migrations.RunSQL("SET CONSTRAINTS ALL IMMEDIATE", migrations.RunSQL.noop),
        migrations.AlterField(
            model_name="piece",
            name="public_id",
            field=models.CharField(
                default=new_public_id, editable=False, max_length=10, unique=True
            ),
        ),
        migrations.RunSQL(KEEP, LET_GO),
    ]
