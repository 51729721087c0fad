"""The first tables"""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "alloy",
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("updated_at", sa.DateTime(), nullable=False),
        sa.Column("archived_at", sa.DateTime(), nullable=True),
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("family", sa.String(), nullable=False),
        sa.Column("colour", sa.String(), nullable=False),
        sa.Column("composition", sa.Text(), nullable=False),
        sa.Column("standard", sa.Text(), nullable=True),
        sa.Column("density", sa.BigInteger(), nullable=False),
        sa.Column("density_estimated", sa.Boolean(), nullable=False),
        sa.Column("melting_low", sa.BigInteger(), nullable=False),
        sa.Column("melting_high", sa.BigInteger(), nullable=False),
        sa.Column("pour_low", sa.BigInteger(), nullable=False),
        sa.Column("pour_high", sa.BigInteger(), nullable=False),
        sa.Column("flask_temperature", sa.Text(), nullable=False),
        sa.Column("melt_loss", sa.BigInteger(), nullable=False),
        sa.Column("losses", sa.Text(), nullable=False),
        sa.Column("recycled_limit", sa.BigInteger(), nullable=False),
        sa.Column("melts_limit", sa.Integer(), nullable=False),
        sa.Column("cooling", sa.Text(), nullable=False),
        sa.Column("heat", sa.Text(), nullable=False),
        sa.Column("investment", sa.Text(), nullable=False),
        sa.Column("cautions", sa.Text(), nullable=False),
        sa.Column("sources", sa.Text(), nullable=False),
        sa.CheckConstraint("density >= 1", name=op.f("ck_alloy_density_at_least_1")),
        sa.CheckConstraint("melt_loss >= 0 AND melt_loss < 1000000", name=op.f("ck_alloy_melt_loss_share")),
        sa.CheckConstraint("melting_low <= melting_high", name=op.f("ck_alloy_melting_order")),
        sa.CheckConstraint("melts_limit >= 0", name=op.f("ck_alloy_melts_limit_at_least_0")),
        sa.CheckConstraint("pour_low <= pour_high", name=op.f("ck_alloy_pour_order")),
        sa.CheckConstraint("recycled_limit >= 0 AND recycled_limit <= 1000000", name=op.f("ck_alloy_recycled_share")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_alloy")),
    )
    op.create_table(
        "burnout_program",
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("updated_at", sa.DateTime(), nullable=False),
        sa.Column("archived_at", sa.DateTime(), nullable=True),
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("segments", sa.Text(), nullable=False),
        sa.Column("bonds", sa.Text(), nullable=False),
        sa.Column("sources", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_burnout_program")),
    )
    op.create_table(
        "casting_machine",
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("updated_at", sa.DateTime(), nullable=False),
        sa.Column("archived_at", sa.DateTime(), nullable=True),
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column(
            "kind",
            sa.Enum("spring centrifuge", "vacuum", name="machinekind", native_enum=False, create_constraint=True, length=40),
            nullable=False,
        ),
        sa.Column(
            "heat", sa.Enum("torch", "induction", name="heat", native_enum=False, create_constraint=True, length=40), nullable=False
        ),
        sa.Column("fits", sa.Text(), nullable=False),
        sa.Column("crucible_mass", sa.BigInteger(), nullable=False),
        sa.Column("crucible_volume", sa.BigInteger(), nullable=False),
        sa.Column("minutes_per_cast", sa.Integer(), nullable=False),
        sa.Column("people", sa.Integer(), nullable=False),
        sa.Column("arm_radius", sa.BigInteger(), nullable=True),
        sa.Column("speed_rpm", sa.Integer(), nullable=True),
        sa.Column("in_service", sa.Boolean(), nullable=False),
        sa.Column("outages", sa.Text(), nullable=False),
        sa.Column("sources", sa.Text(), nullable=False),
        sa.CheckConstraint("arm_radius >= 1", name=op.f("ck_casting_machine_arm_radius_at_least_1")),
        sa.CheckConstraint("crucible_mass >= 1", name=op.f("ck_casting_machine_crucible_mass_at_least_1")),
        sa.CheckConstraint("crucible_volume >= 1", name=op.f("ck_casting_machine_crucible_volume_at_least_1")),
        sa.CheckConstraint("minutes_per_cast >= 1", name=op.f("ck_casting_machine_minutes_per_cast_at_least_1")),
        sa.CheckConstraint("people >= 1", name=op.f("ck_casting_machine_people_at_least_1")),
        sa.CheckConstraint("speed_rpm >= 1", name=op.f("ck_casting_machine_speed_rpm_at_least_1")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_casting_machine")),
    )
    op.create_table(
        "checklist_tick",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("flask", sa.String(), nullable=False),
        sa.Column("pause", sa.String(), nullable=False),
        sa.Column("point", sa.String(), nullable=False),
        sa.Column("text", sa.String(), nullable=False),
        sa.Column("reading", sa.String(), nullable=False),
        sa.Column("ticked", sa.Boolean(), nullable=False),
        sa.Column("at", sa.DateTime(), nullable=False),
        sa.Column("who", sa.String(), nullable=False),
        sa.Column("key", sa.String(), nullable=True),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_checklist_tick")),
        sa.UniqueConstraint("key", name=op.f("uq_checklist_tick_key")),
    )
    with op.batch_alter_table("checklist_tick", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_checklist_tick_flask"), ["flask"], unique=False)

    op.create_table(
        "closure",
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("updated_at", sa.DateTime(), nullable=False),
        sa.Column("archived_at", sa.DateTime(), nullable=True),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("first", sa.Date(), nullable=False),
        sa.Column("last", sa.Date(), nullable=False),
        sa.Column("reason", sa.String(), nullable=False),
        sa.CheckConstraint("first <= last", name=op.f("ck_closure_day_order")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_closure")),
    )
    op.create_table(
        "flask_pin",
        sa.Column("flask", sa.String(), nullable=False),
        sa.Column("reason", sa.String(), nullable=False),
        sa.Column("at", sa.DateTime(), nullable=False),
        sa.Column("who", sa.String(), nullable=False),
        sa.PrimaryKeyConstraint("flask", name=op.f("pk_flask_pin")),
    )
    op.create_table(
        "flask_size",
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("updated_at", sa.DateTime(), nullable=False),
        sa.Column("archived_at", sa.DateTime(), nullable=True),
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("inner_diameter", sa.BigInteger(), nullable=False),
        sa.Column("height", sa.BigInteger(), nullable=False),
        sa.Column("wall", sa.BigInteger(), nullable=False),
        sa.Column("perforated", sa.Boolean(), nullable=False),
        sa.Column("owned", sa.Integer(), nullable=False),
        sa.Column("burnout_minutes", sa.Integer(), nullable=False),
        sa.Column("cost", sa.Integer(), nullable=False),
        sa.Column("base_height", sa.BigInteger(), nullable=False),
        sa.Column("trunk_diameter", sa.BigInteger(), nullable=False),
        sa.Column("button_volume", sa.BigInteger(), nullable=False),
        sa.Column("sources", sa.Text(), nullable=False),
        sa.CheckConstraint("base_height >= 0", name=op.f("ck_flask_size_base_height_at_least_0")),
        sa.CheckConstraint("burnout_minutes >= 0", name=op.f("ck_flask_size_burnout_minutes_at_least_0")),
        sa.CheckConstraint("button_volume >= 0", name=op.f("ck_flask_size_button_volume_at_least_0")),
        sa.CheckConstraint("cost >= 0", name=op.f("ck_flask_size_cost_at_least_0")),
        sa.CheckConstraint("height >= 1", name=op.f("ck_flask_size_height_at_least_1")),
        sa.CheckConstraint("inner_diameter >= 1", name=op.f("ck_flask_size_inner_diameter_at_least_1")),
        sa.CheckConstraint("owned >= 0", name=op.f("ck_flask_size_owned_at_least_0")),
        sa.CheckConstraint("trunk_diameter >= 1", name=op.f("ck_flask_size_trunk_diameter_at_least_1")),
        sa.CheckConstraint("wall >= 0", name=op.f("ck_flask_size_wall_at_least_0")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_flask_size")),
    )
    op.create_table(
        "investment_kind",
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("updated_at", sa.DateTime(), nullable=False),
        sa.Column("archived_at", sa.DateTime(), nullable=True),
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column(
            "bond",
            sa.Enum("gypsum", "phosphate", name="bond", native_enum=False, create_constraint=True, length=40),
            nullable=False,
        ),
        sa.Column("water", sa.BigInteger(), nullable=False),
        sa.Column("slurry_yield", sa.BigInteger(), nullable=False),
        sa.Column("waste", sa.BigInteger(), nullable=False),
        sa.Column("working_minutes", sa.Integer(), nullable=False),
        sa.Column("gloss_off_minutes", sa.Integer(), nullable=False),
        sa.Column("bench_set_minutes", sa.Integer(), nullable=False),
        sa.Column("bench_limit_minutes", sa.Integer(), nullable=False),
        sa.Column("peak", sa.BigInteger(), nullable=False),
        sa.Column("liquid", sa.String(), nullable=False),
        sa.Column("sources", sa.Text(), nullable=False),
        sa.CheckConstraint("bench_limit_minutes >= bench_set_minutes", name=op.f("ck_investment_kind_bench_limit_after_set")),
        sa.CheckConstraint("bench_set_minutes >= 0", name=op.f("ck_investment_kind_bench_set_minutes_at_least_0")),
        sa.CheckConstraint("gloss_off_minutes >= 0", name=op.f("ck_investment_kind_gloss_off_minutes_at_least_0")),
        sa.CheckConstraint("slurry_yield >= 1", name=op.f("ck_investment_kind_slurry_yield_at_least_1")),
        sa.CheckConstraint("waste >= 0", name=op.f("ck_investment_kind_waste_at_least_0")),
        sa.CheckConstraint("water >= 1", name=op.f("ck_investment_kind_water_at_least_1")),
        sa.CheckConstraint("working_minutes >= 0", name=op.f("ck_investment_kind_working_minutes_at_least_0")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_investment_kind")),
    )
    op.create_table(
        "kiln",
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("updated_at", sa.DateTime(), nullable=False),
        sa.Column("archived_at", sa.DateTime(), nullable=True),
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("width", sa.BigInteger(), nullable=False),
        sa.Column("depth", sa.BigInteger(), nullable=False),
        sa.Column("height", sa.BigInteger(), nullable=False),
        sa.Column("gap", sa.BigInteger(), nullable=False),
        sa.Column("top_temperature", sa.BigInteger(), nullable=False),
        sa.Column("fastest_ramp", sa.Integer(), nullable=False),
        sa.Column("in_service", sa.Boolean(), nullable=False),
        sa.Column("unattended", sa.Boolean(), nullable=False),
        sa.Column("cooldown_minutes", sa.Integer(), nullable=False),
        sa.Column("cost", sa.Integer(), nullable=False),
        sa.Column("outages", sa.Text(), nullable=False),
        sa.Column("sources", sa.Text(), nullable=False),
        sa.CheckConstraint("cooldown_minutes >= 0", name=op.f("ck_kiln_cooldown_minutes_at_least_0")),
        sa.CheckConstraint("cost >= 0", name=op.f("ck_kiln_cost_at_least_0")),
        sa.CheckConstraint("depth >= 1", name=op.f("ck_kiln_depth_at_least_1")),
        sa.CheckConstraint("fastest_ramp >= 1", name=op.f("ck_kiln_fastest_ramp_at_least_1")),
        sa.CheckConstraint("gap >= 0", name=op.f("ck_kiln_gap_at_least_0")),
        sa.CheckConstraint("height >= 1", name=op.f("ck_kiln_height_at_least_1")),
        sa.CheckConstraint("width >= 1", name=op.f("ck_kiln_width_at_least_1")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_kiln")),
    )
    op.create_table(
        "pattern_material",
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("updated_at", sa.DateTime(), nullable=False),
        sa.Column("archived_at", sa.DateTime(), nullable=True),
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("density", sa.BigInteger(), nullable=False),
        sa.Column("burnout_minutes", sa.Integer(), nullable=False),
        sa.Column("burnout_peak", sa.BigInteger(), nullable=False),
        sa.Column("fume", sa.Boolean(), nullable=False),
        sa.Column("sources", sa.Text(), nullable=False),
        sa.CheckConstraint("burnout_minutes >= 0", name=op.f("ck_pattern_material_burnout_minutes_at_least_0")),
        sa.CheckConstraint("density >= 1", name=op.f("ck_pattern_material_density_at_least_1")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_pattern_material")),
    )
    op.create_table(
        "person",
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("updated_at", sa.DateTime(), nullable=False),
        sa.Column("archived_at", sa.DateTime(), nullable=True),
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("casts", sa.Boolean(), nullable=False),
        sa.Column("shifts", sa.Text(), nullable=False),
        sa.Column("away", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_person")),
    )
    op.create_table(
        "plan_version",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("made_at", sa.DateTime(), nullable=False),
        sa.Column(
            "status",
            sa.Enum("draft", "current", "old", name="planstatus", native_enum=False, create_constraint=True, length=40),
            nullable=False,
        ),
        sa.Column("made_by", sa.String(), nullable=False),
        sa.Column("first_day", sa.Date(), nullable=False),
        sa.Column("timezone", sa.String(), nullable=False),
        sa.Column("document", sa.Text(), nullable=False),
        sa.Column("note", sa.String(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_plan_version")),
    )
    with op.batch_alter_table("plan_version", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_plan_version_status"), ["status"], unique=False)

    op.create_table(
        "shop_rules",
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("updated_at", sa.DateTime(), nullable=False),
        sa.Column("archived_at", sa.DateTime(), nullable=True),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("timezone", sa.String(), nullable=False),
        sa.Column("piece_gap", sa.BigInteger(), nullable=False),
        sa.Column("ring_gap", sa.BigInteger(), nullable=False),
        sa.Column("wall_clearance", sa.BigInteger(), nullable=False),
        sa.Column("top_clearance", sa.BigInteger(), nullable=False),
        sa.Column("feed_length", sa.BigInteger(), nullable=False),
        sa.Column("feed_diameter", sa.BigInteger(), nullable=False),
        sa.Column("button_share", sa.BigInteger(), nullable=False),
        sa.Column("invest_minutes", sa.Integer(), nullable=False),
        sa.Column("knockout_minutes", sa.Integer(), nullable=False),
        sa.Column("soak_minutes", sa.Integer(), nullable=False),
        sa.Column("step_soak_minutes", sa.Integer(), nullable=False),
        sa.Column("hot_hold_minutes", sa.Integer(), nullable=False),
        sa.Column("crucible_change_minutes", sa.Integer(), nullable=False),
        sa.Column("clean_minutes", sa.Integer(), nullable=False),
        sa.Column("overtime_minutes", sa.Integer(), nullable=False),
        sa.Column("horizon_days", sa.Integer(), nullable=False),
        sa.Column("scale_step", sa.BigInteger(), nullable=False),
        sa.Column("currency", sa.String(), nullable=False),
        sa.CheckConstraint("button_share >= 0", name=op.f("ck_shop_rules_button_share_at_least_0")),
        sa.CheckConstraint("clean_minutes >= 0", name=op.f("ck_shop_rules_clean_minutes_at_least_0")),
        sa.CheckConstraint("crucible_change_minutes >= 0", name=op.f("ck_shop_rules_crucible_change_minutes_at_least_0")),
        sa.CheckConstraint("feed_diameter >= 1", name=op.f("ck_shop_rules_feed_diameter_at_least_1")),
        sa.CheckConstraint("feed_length >= 0", name=op.f("ck_shop_rules_feed_length_at_least_0")),
        sa.CheckConstraint("horizon_days >= 1", name=op.f("ck_shop_rules_horizon_days_at_least_1")),
        sa.CheckConstraint("hot_hold_minutes >= 0", name=op.f("ck_shop_rules_hot_hold_minutes_at_least_0")),
        sa.CheckConstraint("id = 1", name=op.f("ck_shop_rules_one_row")),
        sa.CheckConstraint("invest_minutes >= 1", name=op.f("ck_shop_rules_invest_minutes_at_least_1")),
        sa.CheckConstraint("knockout_minutes >= 1", name=op.f("ck_shop_rules_knockout_minutes_at_least_1")),
        sa.CheckConstraint("overtime_minutes >= 0", name=op.f("ck_shop_rules_overtime_minutes_at_least_0")),
        sa.CheckConstraint("piece_gap >= 0", name=op.f("ck_shop_rules_piece_gap_at_least_0")),
        sa.CheckConstraint("ring_gap >= 0", name=op.f("ck_shop_rules_ring_gap_at_least_0")),
        sa.CheckConstraint("scale_step >= 1", name=op.f("ck_shop_rules_scale_step_at_least_1")),
        sa.CheckConstraint("soak_minutes >= 0", name=op.f("ck_shop_rules_soak_minutes_at_least_0")),
        sa.CheckConstraint("step_soak_minutes >= 0", name=op.f("ck_shop_rules_step_soak_minutes_at_least_0")),
        sa.CheckConstraint("top_clearance >= 0", name=op.f("ck_shop_rules_top_clearance_at_least_0")),
        sa.CheckConstraint("wall_clearance >= 0", name=op.f("ck_shop_rules_wall_clearance_at_least_0")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_shop_rules")),
    )
    op.create_table(
        "flask_event",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("flask", sa.String(), nullable=False),
        sa.Column("plan_version", sa.Integer(), nullable=True),
        sa.Column(
            "stage",
            sa.Enum(
                "invested",
                "loaded",
                "started",
                "cast",
                "knocked out",
                "undone",
                name="stage",
                native_enum=False,
                create_constraint=True,
                length=40,
            ),
            nullable=False,
        ),
        sa.Column("at", sa.DateTime(), nullable=False),
        sa.Column("who", sa.String(), nullable=False),
        sa.Column("note", sa.String(), nullable=False),
        sa.Column("key", sa.String(), nullable=True),
        sa.ForeignKeyConstraint(["plan_version"], ["plan_version.id"], name=op.f("fk_flask_event_plan_version")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_flask_event")),
        sa.UniqueConstraint("key", name=op.f("uq_flask_event_key")),
    )
    with op.batch_alter_table("flask_event", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_flask_event_flask"), ["flask"], unique=False)

    op.create_table(
        "metal",
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("updated_at", sa.DateTime(), nullable=False),
        sa.Column("archived_at", sa.DateTime(), nullable=True),
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column(
            "kind",
            sa.Enum(
                "fine metal",
                "master alloy",
                "casting grain",
                "recycled",
                name="metalkind",
                native_enum=False,
                create_constraint=True,
                length=40,
            ),
            nullable=False,
        ),
        sa.Column("composition", sa.Text(), nullable=False),
        sa.Column("price", sa.BigInteger(), nullable=False),
        sa.Column("price_mass", sa.BigInteger(), nullable=False),
        sa.Column("lead_days", sa.Integer(), nullable=True),
        sa.Column("pack", sa.BigInteger(), nullable=False),
        sa.Column("alloy", sa.String(), nullable=True),
        sa.Column("sources", sa.Text(), nullable=False),
        sa.CheckConstraint("lead_days >= 0", name=op.f("ck_metal_lead_days_at_least_0")),
        sa.CheckConstraint("pack >= 1", name=op.f("ck_metal_pack_at_least_1")),
        sa.CheckConstraint("price >= 0", name=op.f("ck_metal_price_at_least_0")),
        sa.CheckConstraint("price_mass >= 1", name=op.f("ck_metal_price_mass_at_least_1")),
        sa.ForeignKeyConstraint(["alloy"], ["alloy.id"], name=op.f("fk_metal_alloy")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_metal")),
    )
    op.create_table(
        "powder",
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("updated_at", sa.DateTime(), nullable=False),
        sa.Column("archived_at", sa.DateTime(), nullable=True),
        sa.Column("investment", sa.String(), nullable=False),
        sa.Column("mass", sa.BigInteger(), nullable=False),
        sa.Column("lead_days", sa.Integer(), nullable=False),
        sa.Column("pack", sa.BigInteger(), nullable=False),
        sa.Column("price", sa.BigInteger(), nullable=False),
        sa.Column("price_mass", sa.BigInteger(), nullable=False),
        sa.CheckConstraint("lead_days >= 0", name=op.f("ck_powder_lead_days_at_least_0")),
        sa.CheckConstraint("mass >= 0", name=op.f("ck_powder_mass_at_least_0")),
        sa.CheckConstraint("pack >= 1", name=op.f("ck_powder_pack_at_least_1")),
        sa.CheckConstraint("price >= 0", name=op.f("ck_powder_price_at_least_0")),
        sa.CheckConstraint("price_mass >= 1", name=op.f("ck_powder_price_mass_at_least_1")),
        sa.ForeignKeyConstraint(["investment"], ["investment_kind.id"], name=op.f("fk_powder_investment")),
        sa.PrimaryKeyConstraint("investment", name=op.f("pk_powder")),
    )
    op.create_table(
        "lot",
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("updated_at", sa.DateTime(), nullable=False),
        sa.Column("archived_at", sa.DateTime(), nullable=True),
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column(
            "kind",
            sa.Enum(
                "fine metal",
                "master alloy",
                "casting grain",
                "recycled",
                name="metalkind",
                native_enum=False,
                create_constraint=True,
                length=40,
            ),
            nullable=False,
        ),
        sa.Column("composition", sa.Text(), nullable=False),
        sa.Column("mass", sa.BigInteger(), nullable=False),
        sa.Column("melts", sa.Integer(), nullable=False),
        sa.Column("metal", sa.String(), nullable=True),
        sa.Column("alloy", sa.String(), nullable=True),
        sa.Column("owner_job", sa.String(), nullable=True),
        sa.Column("since", sa.Date(), nullable=True),
        sa.Column("arrives", sa.Date(), nullable=True),
        sa.Column("cost", sa.BigInteger(), nullable=False),
        sa.CheckConstraint("cost >= 0", name=op.f("ck_lot_cost_at_least_0")),
        sa.CheckConstraint("mass >= 0", name=op.f("ck_lot_mass_at_least_0")),
        sa.CheckConstraint("melts >= 0", name=op.f("ck_lot_melts_at_least_0")),
        sa.ForeignKeyConstraint(["alloy"], ["alloy.id"], name=op.f("fk_lot_alloy")),
        sa.ForeignKeyConstraint(["metal"], ["metal.id"], name=op.f("fk_lot_metal")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_lot")),
    )
    op.create_table(
        "job",
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("updated_at", sa.DateTime(), nullable=False),
        sa.Column("archived_at", sa.DateTime(), nullable=True),
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("customer", sa.String(), nullable=False),
        sa.Column("item", sa.String(), nullable=False),
        sa.Column("alloy", sa.String(), nullable=False),
        sa.Column(
            "section",
            sa.Enum("thin", "medium", "heavy", name="section", native_enum=False, create_constraint=True, length=40),
            nullable=False,
        ),
        sa.Column("material", sa.String(), nullable=False),
        sa.Column("quantity", sa.Integer(), nullable=False),
        sa.Column("pattern_mass", sa.BigInteger(), nullable=True),
        sa.Column("metal_volume", sa.BigInteger(), nullable=True),
        sa.Column("size_width", sa.BigInteger(), nullable=False),
        sa.Column("size_height", sa.BigInteger(), nullable=False),
        sa.Column("size_reach", sa.BigInteger(), nullable=False),
        sa.Column("ready", sa.Date(), nullable=False),
        sa.Column("due", sa.Date(), nullable=False),
        sa.Column("weight", sa.Integer(), nullable=False),
        sa.Column("may_split", sa.Boolean(), nullable=False),
        sa.Column("own_metal", sa.String(), nullable=True),
        sa.Column("per_tree", sa.Text(), nullable=False),
        sa.Column("notes", sa.String(), nullable=False),
        sa.CheckConstraint("(pattern_mass IS NULL) <> (metal_volume IS NULL)", name=op.f("ck_job_mass_or_volume")),
        sa.CheckConstraint("metal_volume >= 1", name=op.f("ck_job_metal_volume_at_least_1")),
        sa.CheckConstraint("pattern_mass >= 1", name=op.f("ck_job_pattern_mass_at_least_1")),
        sa.CheckConstraint("quantity >= 1", name=op.f("ck_job_quantity_at_least_1")),
        sa.CheckConstraint("size_height >= 1", name=op.f("ck_job_size_height_at_least_1")),
        sa.CheckConstraint("size_reach >= 1", name=op.f("ck_job_size_reach_at_least_1")),
        sa.CheckConstraint("size_width >= 1", name=op.f("ck_job_size_width_at_least_1")),
        sa.CheckConstraint("weight >= 1", name=op.f("ck_job_weight_at_least_1")),
        sa.ForeignKeyConstraint(["alloy"], ["alloy.id"], name=op.f("fk_job_alloy")),
        sa.ForeignKeyConstraint(["material"], ["pattern_material.id"], name=op.f("fk_job_material")),
        sa.ForeignKeyConstraint(["own_metal"], ["lot.id"], name=op.f("fk_job_own_metal")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_job")),
    )
    with op.batch_alter_table("job", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_job_alloy"), ["alloy"], unique=False)

    op.create_table(
        "stock_movement",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("at", sa.DateTime(), nullable=False),
        sa.Column(
            "kind",
            sa.Enum(
                "receipt", "issue", "return", "count", name="movementkind", native_enum=False, create_constraint=True, length=40
            ),
            nullable=False,
        ),
        sa.Column("lot", sa.String(), nullable=True),
        sa.Column("powder", sa.String(), nullable=True),
        sa.Column("mass", sa.BigInteger(), nullable=False),
        sa.Column("flask", sa.String(), nullable=True),
        sa.Column("note", sa.String(), nullable=False),
        sa.Column("key", sa.String(), nullable=True),
        sa.CheckConstraint("(lot IS NULL) <> (powder IS NULL)", name=op.f("ck_stock_movement_lot_or_powder")),
        sa.ForeignKeyConstraint(["lot"], ["lot.id"], name=op.f("fk_stock_movement_lot")),
        sa.ForeignKeyConstraint(["powder"], ["powder.investment"], name=op.f("fk_stock_movement_powder")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_stock_movement")),
        sa.UniqueConstraint("key", name=op.f("uq_stock_movement_key")),
    )
    with op.batch_alter_table("stock_movement", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_stock_movement_lot"), ["lot"], unique=False)
        batch_op.create_index(batch_op.f("ix_stock_movement_powder"), ["powder"], unique=False)


def downgrade() -> None:
    with op.batch_alter_table("stock_movement", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_stock_movement_powder"))
        batch_op.drop_index(batch_op.f("ix_stock_movement_lot"))

    op.drop_table("stock_movement")
    with op.batch_alter_table("job", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_job_alloy"))

    op.drop_table("job")
    op.drop_table("lot")
    op.drop_table("powder")
    op.drop_table("metal")
    with op.batch_alter_table("flask_event", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_flask_event_flask"))

    op.drop_table("flask_event")
    op.drop_table("shop_rules")
    with op.batch_alter_table("plan_version", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_plan_version_status"))

    op.drop_table("plan_version")
    op.drop_table("person")
    op.drop_table("pattern_material")
    op.drop_table("kiln")
    op.drop_table("investment_kind")
    op.drop_table("flask_size")
    op.drop_table("flask_pin")
    op.drop_table("closure")
    with op.batch_alter_table("checklist_tick", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_checklist_tick_flask"))

    op.drop_table("checklist_tick")
    op.drop_table("casting_machine")
    op.drop_table("burnout_program")
    op.drop_table("alloy")
