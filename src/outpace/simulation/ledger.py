"""The causes by which animals appear and vanish; every run's sums by cause close to rounding."""

from __future__ import annotations

PEST_CAUSES = (
    "born",
    "arrived",
    "moved",  # between zones, net; sums to zero over the house
    "rounded",  # to whole individuals, net; nil in the mean
    "died_young",
    "died_old",
    "unexplained",  # wild enemies and disease
    "crowded",
    "sprayed",
    "left",
    "died_stung",
    "mummified",
    "eaten",  # by predators, stung ones too
    "removed",  # with leaves or the whole crop
)
ENEMY_CAUSES = (
    "formed",  # mummies, both sexes
    "hatched",
    "died_in_mummy",
    "fallen",  # shells and dead mummies
    "released",  # females, and females to be in carriers
    "emerged",  # females of own brood
    "males",  # of own brood
    "went",  # net to other zones
    "lost",  # adult females, by the one loss process of the crop
    "aged",
    "poisoned",
    "died_in_carrier",  # of heat
    "mummies_rounded",  # to whole individuals, net; nil in the mean
    "females_rounded",
    "mummies_eaten",  # by predators
    "mummies_removed",  # with leaves or the whole crop
    "taken_out",  # females, and those in carriers, with the whole crop
    "hyperparasitised",  # mummies that a hyperparasitoid stung
    "hyper_hatched",  # of these: left by one, through a ragged hole
    "hyper_died",  # dead inside, still closed
    "hyper_eaten",  # by predators
    "hyper_removed",  # with leaves or the whole crop
    "rested",  # mummies that will not open before spring
)
(
    BORN,
    ARRIVED,
    MOVED,
    ROUNDED,
    DIED_YOUNG,
    DIED_OLD,
    UNEXPLAINED,
    CROWDED,
    SPRAYED,
    LEFT,
    DIED_STUNG,
    MUMMIFIED,
    EATEN,
    REMOVED,
) = range(len(PEST_CAUSES))
(
    FORMED,
    HATCHED,
    DIED_IN_MUMMY,
    FALLEN,
    RELEASED,
    EMERGED,
    MALES,
    WENT,
    LOST,
    AGED,
    POISONED,
    DIED_IN_CARRIER,
    MUMMIES_ROUNDED,
    FEMALES_ROUNDED,
    MUMMIES_EATEN,
    MUMMIES_REMOVED,
    TAKEN_OUT,
    HYPERPARASITISED,
    HYPER_HATCHED,
    HYPER_DIED,
    HYPER_EATEN,
    HYPER_REMOVED,
    RESTING,
) = range(len(ENEMY_CAUSES))
PREDATOR_CAUSES = (
    "laid",
    "released",
    "flown",  # net to other zones
    "died_young",  # at a passage, or of heat
    "fell",  # on a floor where no pupa lives
    "rested",  # went to rest until spring
    "lost",  # larvae from the plants, and adults, starving ones too
    "males",
    "aged",
    "poisoned",
    "grown",  # pupated, of kinds that do not stay
    "died_in_carrier",
)
LAID, LET_GO, FLOWN, PREDATORS_DIED, FELL, RESTED, STRAYED, MALE, GREW_OLD, KILLED, GROWN, SPOILT = range(
    len(PREDATOR_CAUSES)
)
HYPER_CAUSES = (
    "came",  # females, with bankers or from outside
    "emerged",  # females
    "moved",  # net to other zones
    "males",
    "lost",
    "poisoned",
    "taken_out",  # with the whole crop
)
HYPER_CAME, HYPER_EMERGED, HYPER_MOVED, HYPER_MALES, HYPER_LOST, HYPER_POISONED, HYPER_TAKEN_OUT = range(
    len(HYPER_CAUSES)
)
N_HYPER_CAUSES = len(HYPER_CAUSES)
N_PREDATOR_CAUSES = len(PREDATOR_CAUSES)
N_PEST_CAUSES = len(PEST_CAUSES)
N_ENEMY_CAUSES = len(ENEMY_CAUSES)

PEST_GAINS = ("born", "arrived", "moved", "rounded")
PEST_LOSSES = PEST_CAUSES[4:]
PREDATOR_GAINS = PREDATOR_CAUSES[:3]
PREDATOR_LOSSES = PREDATOR_CAUSES[3:]
