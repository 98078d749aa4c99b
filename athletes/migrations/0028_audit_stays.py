from django.db import migrations

TABLE = "athletes_auditentry"
REFUSED = "an entry of the audit is neither changed nor, for a year, removed"

SAME = " AND ".join(f"NEW.{name} IS OLD.{name}" for name in ("id", "at", "by", "page", "changed", "athlete_id"))
GUARD = {
    # A trigger for each row, which there is, does not fire when a table is emptied as a whole.
    "postgresql": [
        f"""CREATE FUNCTION athletes_audit_is_not_emptied() RETURNS trigger AS $$
        BEGIN RAISE EXCEPTION '{REFUSED}'; END;
        $$ LANGUAGE plpgsql""",
        f"""CREATE TRIGGER athletes_audit_is_not_emptied BEFORE TRUNCATE ON {TABLE}
        FOR EACH STATEMENT EXECUTE FUNCTION athletes_audit_is_not_emptied()""",
    ],
    # What 0021 does on PostgreSQL; INSERT too, because INSERT OR REPLACE removes a row without saying so. When Django
    # changes the table it makes it anew without triggers: such a migration has to end with these statements.
    "sqlite": [
        f"""CREATE TRIGGER athletes_audit_{name} BEFORE {name.upper()} ON {TABLE} WHEN {when}
        BEGIN SELECT RAISE(ABORT, '{REFUSED}'); END"""
        for name, when in (
            ("insert", f"EXISTS (SELECT 1 FROM {TABLE} WHERE id = NEW.id)"),
            ("update", f"NOT (NEW.account_id IS NULL AND {SAME})"),
            ("delete", "OLD.at >= datetime('now', '-1 year')"),
        )
    ],
}
LEAVE = {
    "postgresql": [
        f"DROP TRIGGER IF EXISTS athletes_audit_is_not_emptied ON {TABLE}",
        "DROP FUNCTION IF EXISTS athletes_audit_is_not_emptied()",
    ],
    "sqlite": [f"DROP TRIGGER IF EXISTS athletes_audit_{name}" for name in ("insert", "update", "delete")],
}


def run(statements):
    def on_this_database(apps, schema_editor):
        for statement in statements[schema_editor.connection.vendor]:
            schema_editor.execute(statement)

    return on_this_database


class Migration(migrations.Migration):

    dependencies = [
        ('athletes', '0027_names_on_one_line'),
    ]

    operations = [
        migrations.RunPython(run(GUARD), run(LEAVE)),
    ]
