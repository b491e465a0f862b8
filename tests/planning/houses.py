"""A small house for the tests of the planner: one pest that one wasp accepts."""

from __future__ import annotations

from datetime import date, datetime, timedelta

import numpy as np

from outpace.facts.table import load
from outpace.planning.house_outlook import HouseOutlook
from outpace.planning.release_plan import Offer
from outpace.simulation.model import HouseModel, ZoneSpec
from outpace.simulation.parameters import draw
from outpace.simulation.run import start
from outpace.terms.enemies import Pack

TODAY = date(2026, 5, 4)
WASP = "aphidius_colemani"


def a_house(
    *,
    per_plant=0.1,
    limit_per_plant=30.0,
    members=128,
    pests=("myzus_persicae",),
    enemies=(WASP,),
    degc=17.0,
    seed=7,
):
    model = HouseModel(
        crop="sweet_pepper",
        zones=(ZoneSpec("all", 300.0, 700.0),),
        pests=pests,
        enemies=enemies,
        leaves_per_plant=40.0,
        leaf_area_m2=0.4,
    )
    parameters = draw(load(), model, members, seed)
    return HouseOutlook(
        name="south",
        model=model,
        parameters=parameters,
        state=start(model, parameters, per_plant, seed),
        today=0,
        temperature=np.full((28 * 24 + 24, 1), degc),
        committed=(),
        sprays=(),
        limits=np.full((len(pests), 1, 1), limit_per_plant * 700.0),
        seed=seed,
    )


def a_pack(*, price=40.0, size=250, freight=15.0, enemy=WASP, supplier="Harbour Insects", **more):
    return Pack(
        supplier=supplier,
        enemy=enemy,
        form="mummies",
        pack_size=size,
        label_counts="units_in_pack",
        price=price,
        freight_per_parcel=freight,
        cutoff_weekday="Thu",
        delivery_weekday="Wed",
        lead_d=5,
        **more,
    )


def offers_of(house, packs, *, days=(2, 9, 16), least_packs=1, labour=4.0, most_per_m2=12.0):
    members = house.members
    return [
        Offer(
            pack=pack,
            enemy=house.model.enemies.index(pack.enemy),
            delivery=TODAY + timedelta(days=day),
            day=house.today + day,
            cutoff=datetime(2026, 5, 4) + timedelta(days=day - 2),
            next_cutoff=day == min(days),
            units=float(pack.pack_size),
            emergence=np.full(members, 0.8),
            share_female=np.full(members, 0.55),
            least_packs=least_packs,
            labour=labour,
            most_units=most_per_m2 * house.model.area_m2,
        )
        for day in days
        for pack in packs
    ]
