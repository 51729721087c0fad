"""The floor's record: stages with their readings, undone by counter-entries, in place of bare events."""

import sqlalchemy as sa
from alembic import op

revision = "0011"
down_revision = "0010"
branch_labels = None
depends_on = None

STAGES = ("invested", "loaded", "started", "cast", "quenched", "knocked out", "looked at", "to be cast again")
UNIQUE = "id = NEW.id OR key = NEW.key OR takes_back = NEW.takes_back"


def upgrade() -> None:
    record = op.create_table(
        "floor_record",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("flask", sa.String(), nullable=False),
        sa.Column("plan_version", sa.Integer(), nullable=True),
        sa.Column("stage", sa.Enum(*STAGES, name="stage", native_enum=False, create_constraint=True, length=40), nullable=False),
        sa.Column("at", sa.DateTime(), nullable=False),
        sa.Column("who", sa.String(), nullable=False),
        sa.Column("note", sa.String(), nullable=False),
        sa.Column("key", sa.String(), nullable=True),
        sa.Column("readings", sa.Text(), nullable=False),
        sa.Column("pieces", sa.Text(), nullable=True),
        sa.Column("cast_as", sa.Text(), nullable=True),
        sa.Column("takes_back", sa.Integer(), nullable=True),
        sa.ForeignKeyConstraint(["plan_version"], ["plan_version.id"], name=op.f("fk_floor_record_plan_version")),
        sa.ForeignKeyConstraint(["takes_back"], ["floor_record.id"], name=op.f("fk_floor_record_takes_back")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_floor_record")),
        sa.UniqueConstraint("key", name=op.f("uq_floor_record_key")),
        sa.UniqueConstraint("takes_back", name=op.f("uq_floor_record_takes_back")),
    )
    op.create_index(op.f("ix_floor_record_flask"), "floor_record", ["flask"])
    _move_over(op.get_bind(), record)
    op.drop_table("flask_event")
    for statement in _append_only(op.get_bind().dialect.name):
        op.execute(statement)


def _move_over(connection: sa.Connection, record: sa.Table) -> None:
    """Events keep their numbers; what said that the one before is undone names it now."""
    event = sa.Table("flask_event", sa.MetaData(), autoload_with=connection)
    rows = [dict(row) for row in connection.execute(sa.select(event).order_by(event.c.id)).mappings()]
    standing: dict[str, list[dict[str, object]]] = {}
    for row in rows:
        row |= {"readings": "{}", "takes_back": None}
        before = standing.setdefault(str(row["flask"]), [])
        if row["stage"] != "undone":
            before.append(row)
        elif before:
            undone = before.pop()
            row |= {"stage": undone["stage"], "takes_back": undone["id"], "pieces": None}
    kept = [row for row in rows if row["stage"] != "undone"]
    if kept:
        connection.execute(record.insert(), kept)
        if connection.dialect.name == "postgresql":
            connection.execute(sa.text("SELECT setval('floor_record_id_seq', (SELECT max(id) FROM floor_record))"))


def _append_only(dialect: str) -> tuple[str, ...]:
    table, says = "floor_record", "floor_record is append-only"
    if dialect == "sqlite":
        acts = (
            ("no_update", "UPDATE", ""),
            ("no_delete", "DELETE", ""),
            ("no_replace", "INSERT", f" WHEN EXISTS (SELECT 1 FROM {table} WHERE {UNIQUE})"),
        )
        return tuple(
            f"CREATE TRIGGER {table}_{name} BEFORE {act} ON {table}{when} BEGIN SELECT RAISE(ABORT, '{says}'); END"
            for name, act, when in acts
        )
    return (
        f"CREATE OR REPLACE FUNCTION {table}_refuse() RETURNS trigger LANGUAGE plpgsql AS "
        f"$$ BEGIN RAISE EXCEPTION '{says}' USING ERRCODE = 'integrity_constraint_violation'; END $$",
        f"CREATE TRIGGER {table}_no_change BEFORE UPDATE OR DELETE ON {table} FOR EACH ROW EXECUTE FUNCTION {table}_refuse()",
        f"CREATE TRIGGER {table}_no_truncate BEFORE TRUNCATE ON {table} FOR EACH STATEMENT EXECUTE FUNCTION {table}_refuse()",
    )


def downgrade() -> None:
    raise RuntimeError("a record with its readings does not go back into bare events; take the copy made before")
