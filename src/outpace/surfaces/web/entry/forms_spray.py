"""What is asked of a spray: what its label says; what is left out acts as danger."""

from __future__ import annotations

from typing import Any

from outpace.language import say
from outpace.surfaces.web.entry.fields import Field, Form, choice, measured
from outpace.surfaces.web.entry.shared_fields import Known, house_choice, minutes_field, zone_field


def spray(known: Known) -> Form:
    """Ask of a spray what its label says; what is left out acts as danger."""
    return Form(
        "spray",
        say("Spray"),
        say("What was sprayed, in which house, and until when must you keep out?"),
        say("Keep the spray"),
        (
            house_choice(known),
            zone_field(known),
            choice(
                "kind",
                say("What was it?"),
                [
                    ("insecticide", say("insecticide")),
                    ("fungicide", say("fungicide")),
                    ("sulphur", say("sulphur")),
                    ("soap", say("soap or oil")),
                    ("leaf feed", say("leaf feed")),
                    ("disinfectant", say("disinfectant")),
                    ("fogger", say("fogger")),
                    ("other", say("other")),
                ],
                note=say("all of these are sprays: many kill wasps"),
            ),
            Field("product", say("Product, as on its label"), option="--product"),
            Field(
                "start",
                say("It began, or is to begin"),
                "moment",
                option="--start",
                value=known.get("now", ""),
            ),
            Field(
                "end",
                say("It ended"),
                "moment",
                option="--end",
                note=say("until this is told no clock starts"),
            ),
            Field(
                "reentry_h",
                say("Label: hours to keep out"),
                "number",
                option="--reentry-h",
                note=say("empty: keep out, read the label"),
            ),
            Field(
                "harvest_interval_d",
                say("Label: days not to pick"),
                "number",
                option="--harvest-days",
                note=say("empty: do not pick, read the label"),
            ),
            Field(
                "residual_d",
                say("Days for which it harms enemies"),
                "number",
                option="--residue-days",
                note=say("ask the supplier of the enemies; empty: no release here"),
            ),
            Field(
                "bees_out_until",
                say("Bees: hive closed or out, until when?"),
                "moment",
                option="--bees-out-until",
                note=say("empty where no bees work in the house"),
            ),
            choice(
                "spray",
                say("Completes a spray written down before"),
                [(row["spray"], row["said"]) for row in known["sprays"]],
                option="--spray",
                more=True,
            ),
            Field("reason", say("Against what"), option="--reason", more=True),
            Field("registration_no", say("Registration number"), option="--registration", more=True),
            Field("active", say("Active in it"), option="--active", more=True),
            Field("action_group", say("Mode-of-action group"), option="--group", more=True),
            Field("dose", say("Rate that was applied"), "number", option="--rate", more=True),
            Field("dose_unit", say("Unit of the rate"), option="--rate-unit", more=True),
            Field("amount_total", say("Used in all"), "number", option="--amount", more=True),
            measured("area_m2", say("Area treated"), "area", option="--area", more=True),
            Field("operator", say("Who applied it"), option="--operator", more=True),
            Field("operator_licence", say("Licence number"), option="--licence", more=True),
            minutes_field(),
            Field("wind", say("Wind, where the house stood open"), option="--wind", more=True),
            Field("crop", say("Crop, if not that of the house"), option="--crop", more=True),
            Field("bbch", say("Growth stage, BBCH"), "whole", option="--bbch", more=True),
            Field(
                "residual_enemy_share",
                say("Share of enemies the residue kills on the first day"),
                "number",
                option="--residue",
                more=True,
            ),
            Field(
                "kill_enemy_share",
                say("Share of enemies it kills at once"),
                "number",
                option="--kill-enemies",
                more=True,
            ),
            Field(
                "kill_pest_share",
                say("Share of aphids it kills at once"),
                "number",
                option="--kill-aphids",
                more=True,
            ),
        ),
        _make_spray,
        changes=True,
        care=(
            say("The label, your local code and your licence come first. No figure is filled in for you."),
            say("Under cover the label may ask for airing before anyone goes in."),
        ),
        onward=((say("See what it holds back"), "/sprays"),),
        here="sprays",
    )


NOT_COLUMNS = ("house", "start", "end", "bees_out_until", "spray", "farm")


def _make_spray(snapshot: Any, told: dict[str, Any]) -> Any:
    from outpace.season.spray import spray_from_words

    return spray_from_words(
        snapshot,
        told["house"],
        {name: value for name, value in told.items() if name not in (*NOT_COLUMNS, "by")},
        **{name: told[name] for name in NOT_COLUMNS if name != "house"},
    )
