"""Which enemy fits, and the reasons."""

from __future__ import annotations

from outpace.facts.table import load
from outpace.planning.candidates import fitting_enemies, rank


def test_the_wrong_enemy_does_not_fit_and_the_reason_names_the_aphid():
    # Source: host match, Carver et al. 1993 by way of a handbook: seldom Macrosiphini; evidence class read
    found = {
        item.enemy: item
        for item in rank(
            load(),
            ["aphidius_colemani", "aphidius_ervi"],
            ["macrosiphum_euphorbiae"],
            mean_temperature=18,
            hottest=24,
        )
    }
    assert not found["aphidius_colemani"].fits
    assert any("Macrosiphum" in reason for reason in found["aphidius_colemani"].against)
    assert found["aphidius_ervi"].fits
    assert "aphidius_colemani" not in fitting_enemies(load(), "macrosiphum_euphorbiae")


def test_no_wasp_is_promised_for_an_unknown_aphid():
    wasps = [key for key, item in load().species.items() if item.guild == "wasp"]
    assert not any(
        item.fits for item in rank(load(), wasps, ["unknown_aphid"], mean_temperature=18, hottest=24)
    )


def test_cold_is_a_reason_against_a_wasp():
    [item] = rank(load(), ["aphidius_colemani"], ["myzus_persicae"], mean_temperature=8, hottest=12)
    assert any("searches little below" in reason for reason in item.against)


def test_ragged_holes_are_a_reason_against_a_wasp():
    [item] = rank(
        load(), ["aphidius_colemani"], ["myzus_persicae"], mean_temperature=18, hottest=22, ragged_share=0.5
    )
    assert any("ragged" in reason for reason in item.against)
