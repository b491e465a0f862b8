"""Crops, aphids and wasps as the virtual houses have them: own numbers, judged, and wide on purpose.

They are not read from the facts of the product, and the laws that use them are others than the product's: what is
true in a virtual house is never what the product believes by construction.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Aphid:
    """Middle values of one aphid: days from birth to adult at 20 °C, its temperatures [°C], births a day at 20 °C."""

    days_at_20: float
    base: float
    upper: float
    births: float
    best: float


@dataclass(frozen=True, slots=True)
class Wasp:
    """Middle values of one wasp: days from sting to adult at 20 °C, its temperatures [°C], eggs in a life, and liking.

    ``accepts`` gives the chance that a sting into an aphid of that name takes.
    """

    days_at_20: float
    base: float
    upper: float
    eggs: float
    accepts: dict[str, float]


@dataclass(frozen=True, slots=True)
class Scene:
    """A crop with the aphid in it, the wasp that suits it, one that does not, and the air it is grown in [°C].

    ``crowd`` is the number of aphids a plant at which births are halved; numbers settle at about two thirds of it.
    """

    crop: str
    plants_per_m2: float
    leaves: float
    leaf_area_m2: float
    aphid: str
    on_crop: float
    wasp: str
    unfit: str
    coolest: float
    warmest: float
    crowd: float


APHIDS = {
    "myzus_persicae": Aphid(7.8, 4.0, 33.0, 4.6, 23.5),
    "aphis_gossypii": Aphid(7.0, 6.2, 35.0, 5.6, 25.5),
    "macrosiphum_euphorbiae": Aphid(9.1, 4.0, 31.5, 4.5, 21.0),
    "aulacorthum_solani": Aphid(8.9, 3.5, 31.0, 4.5, 20.5),
}

WASPS = {
    "aphidius_colemani": Wasp(13.3, 2.6, 34.5, 280.0, {"myzus_persicae": 0.95, "aphis_gossypii": 0.9}),
    "aphidius_ervi": Wasp(
        14.8,
        5.0,
        33.5,
        260.0,
        {"macrosiphum_euphorbiae": 0.9, "aulacorthum_solani": 0.9, "myzus_persicae": 0.25},
    ),
}

SCENES = (
    Scene(
        "sweet_pepper",
        2.5,
        60,
        0.6,
        "myzus_persicae",
        0.9,
        "aphidius_colemani",
        "aphidius_ervi",
        15,
        22,
        2600.0,
    ),
    Scene(
        "sweet_pepper",
        2.5,
        60,
        0.6,
        "aulacorthum_solani",
        0.9,
        "aphidius_ervi",
        "aphidius_colemani",
        14,
        20,
        2600.0,
    ),
    Scene(
        "cucumber", 1.5, 18, 0.9, "aphis_gossypii", 0.8, "aphidius_colemani", "aphidius_ervi", 17, 23, 8000.0
    ),
    Scene(
        "aubergine", 2.0, 25, 0.7, "myzus_persicae", 0.7, "aphidius_colemani", "aphidius_ervi", 16, 22, 3000.0
    ),
    Scene(
        "aubergine",
        2.0,
        25,
        0.7,
        "macrosiphum_euphorbiae",
        0.85,
        "aphidius_ervi",
        "aphidius_colemani",
        15,
        21,
        3000.0,
    ),
    Scene(
        "strawberry",
        8.0,
        12,
        0.12,
        "macrosiphum_euphorbiae",
        0.75,
        "aphidius_ervi",
        "aphidius_colemani",
        11,
        18,
        520.0,
    ),
    Scene(
        "lettuce", 12.0, 25, 0.15, "myzus_persicae", 0.8, "aphidius_colemani", "aphidius_ervi", 10, 17, 650.0
    ),
)
"""The unfit wasp does little or nothing to the aphid of its scene."""

LOOK_ALIKE = {
    "myzus_persicae": "aulacorthum_solani",
    "aulacorthum_solani": "myzus_persicae",
    "macrosiphum_euphorbiae": "myzus_persicae",
    "aphis_gossypii": "myzus_persicae",
}
"""The name that a scout writes who takes one aphid for another."""
