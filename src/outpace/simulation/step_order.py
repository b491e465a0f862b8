"""The order of a day, written down once. The kernel follows it, and a test compares the two."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Moment:
    """One thing the kernel does: how often, by which function, and what it means."""

    when: str
    function: str
    meaning: str


MIDNIGHT, EACH_STEP, DAYS_END = "at midnight", "each step", "at the day's end"

STEP_ORDER: tuple[Moment, ...] = (
    Moment(
        MIDNIGHT,
        "look",
        "what stands in the house is written down; this is what a forecast of that day shows",
    ),
    Moment(MIDNIGHT, "look_at_predators", "the same for predators"),
    Moment(MIDNIGHT, "look_at_hypers", "the same for ragged shells and hyperparasitoids"),
    Moment(MIDNIGHT, "set_ground", "plants, leaves and leaf area become those of the day"),
    Moment(MIDNIGHT, "drop_dust", "numbers of no weight become zero"),
    Moment(MIDNIGHT, "begin_few", "luck of whole individuals is keyed to this day"),
    Moment(MIDNIGHT, "round_off", "what is few is made whole, nil in the mean"),
    Moment(MIDNIGHT, "swing", "the swings of growth and attack move on by a day"),
    Moment(MIDNIGHT, "warm_day", "the day's warmth sets how much wasps search and how many eggs they have"),
    Moment(
        MIDNIGHT,
        "warm_predators",
        "the day's warmth and length set how much predators eat, where they search, who goes to rest",
    ),
    Moment(MIDNIGHT, "warm_hypers", "the same for how much hyperparasitoids search and lay"),
    Moment(MIDNIGHT, "read_luck", "the swings become multipliers of births and attack"),
    Moment(MIDNIGHT, "count_hosts", "aphids are counted by stage, stung ones by size, zone by zone"),
    Moment(MIDNIGHT, "crowd", "crowding is averaged over crowded and bare leaves: losses, winged share"),
    Moment(MIDNIGHT, "sting", "the bout: expected attacks are fixed for the day and become constant hazards"),
    Moment(
        MIDNIGHT,
        "hunt",
        "what predators eat and lay is fixed for the day: constant hazards of aphids, stung ones and mummies",
    ),
    Moment(
        MIDNIGHT, "share_prey", "the shares of stung aphids and mummies that no predator eats in one step"
    ),
    Moment(
        MIDNIGHT,
        "sting_mummies",
        "what hyperparasitoids will sting is fixed for the day, as for aphids and wasps",
    ),
    Moment(MIDNIGHT, "share_mummies", "the share of mummies that none of them stings in one step"),
    Moment(MIDNIGHT, "take_out", "what is few is taken out, to live by whole individuals"),
    Moment(MIDNIGHT, "share_out", "hazards become the shares stung and lost in one step"),
    Moment(MIDNIGHT, "find_stung", "chains that hold nothing today are passed over"),
    Moment(EACH_STEP, "live_on", "before a spray, whole individuals live up to it"),
    Moment(EACH_STEP, "spray_few", "whole individuals die of it by luck"),
    Moment(
        EACH_STEP, "spray", "a treatment kills at once; the rest of the day's attack falls with the wasps"
    ),
    Moment(EACH_STEP, "lay_residue", "its residue stands where it is worse than the old one"),
    Moment(EACH_STEP, "doom_mummies", "the share of mummies in which it kills is noted for the day's end"),
    Moment(EACH_STEP, "spray_predators", "larvae and adults of predators die with the wasps"),
    Moment(EACH_STEP, "share_prey", "what they would have eaten today is spared with them"),
    Moment(EACH_STEP, "spray_hypers", "hyperparasitoids die with the wasps"),
    Moment(EACH_STEP, "share_mummies", "what they would have stung today is spared with them"),
    Moment(EACH_STEP, "share_out", "the shares of a step are worked out anew after a spray"),
    Moment(EACH_STEP, "live_on", "before leaves are taken off, whole individuals live up to it"),
    Moment(EACH_STEP, "strip_few", "whole individuals go with the leaves by luck"),
    Moment(EACH_STEP, "strip", "aphids, mummies and shells go with the leaves, all with the whole crop"),
    Moment(EACH_STEP, "strip_hypers", "with the leaves go young in mummies and ragged shells too"),
    Moment(EACH_STEP, "release_hypers", "hyperparasitoids come in, from banker plants or from outside"),
    Moment(EACH_STEP, "release_predators", "larvae and eggs stand on the leaves, pupae in the carrier"),
    Moment(EACH_STEP, "release", "adults join the newcomers, mummies go into the carrier"),
    Moment(
        EACH_STEP, "step_rates", "the hours' warmth becomes rates of development, ageing, birth and death"
    ),
    Moment(EACH_STEP, "add_up", "rates are added up for whole individuals"),
    Moment(EACH_STEP, "predator_rates", "the same for predators"),
    Moment(EACH_STEP, "hyper_rates", "the same for hyperparasitoids"),
    Moment(
        EACH_STEP,
        "step_pest",
        "nymphs, adults, winged in and out, stung aphids, births; hazards take their share",
    ),
    Moment(EACH_STEP, "step_mummies", "mummies form, hatch or die; shells stay"),
    Moment(EACH_STEP, "step_carrier", "released animals come out of the carrier"),
    Moment(
        EACH_STEP,
        "step_hypers",
        "young hyperparasitoids grow in stung mummies and leave through ragged holes",
    ),
    Moment(EACH_STEP, "step_predator", "eggs hatch, larvae grow, drop to the floor or rest, midges come out"),
    Moment(DAYS_END, "live_on", "whole aphids and mummies live their day, each by its luck"),
    Moment(DAYS_END, "age_few", "whole females are lost or a day older"),
    Moment(
        DAYS_END, "age_predators", "adult midges are lost or a day older, newcomers join, some change zones"
    ),
    Moment(DAYS_END, "age_hypers", "hyperparasitoids are lost, newcomers join, ragged shells fall"),
    Moment(
        DAYS_END, "age_females", "wasps are lost or a day older, newcomers join, shells fall, residues fade"
    ),
    Moment(DAYS_END, "put_back", "whole individuals join the state"),
    Moment(DAYS_END, "follow_crowding", "the winged share of coming moults follows crowding"),
    Moment(DAYS_END, "move_zones", "flying aphids and wasps go to other zones, near ones first"),
    Moment(DAYS_END, "die_in_mummies", "wasps that a spray of the day doomed are dead inside their mummies"),
)
