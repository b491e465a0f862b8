"""The same model written slowly, straight from its equations, one member at a time.

It shares with the compiled kernel only the parameter table (read by name) and the layout (asked by block name), through
which it is started and compared. Chains are solved as linear systems; the bout uses the pure functions of
`outpace.biology`; nothing here is compiled or works on blocks of members.
"""

from __future__ import annotations

import numpy as np

from outpace.biology.attack import daily_hazard, interference
from outpace.biology.day_length import day_length
from outpace.biology.dispersion import clumping_from_taylor
from outpace.biology.temperature_response import thermal_performance

GRID = np.arange(-20.0, 60.01, 0.25)
NYMPHS = ("N1", "N2", "N3", "N4")
SIZES = ("N1_to_N3", "N4", "adult")
SIZE_OF = {"N1": 0, "N2": 0, "N3": 0, "N4": 1, "wingless": 2, "winged": 2}
STAGES = ("N1", "N2", "N3", "N4", "wingless", "winged")


def chain_step(before, stay, a, inflow, survive):
    """Trapezoidal step of dn_i/dt = survive·a·n_(i-1) − a·n_i as one linear system, hazards half before and half after.

    Returns numbers after, outflow, those that passed each substage, and how many the two halves of the hazards found.
    """
    n = len(before)
    lower = np.eye(n, k=-1) * survive
    move = 0.5 * a * (np.eye(n) - lower)
    staying = before * stay
    right = staying - move @ staying
    right[0] += inflow
    moved = np.linalg.solve(np.eye(n) + move, right)
    passed = 0.5 * a * (staying + moved)
    return moved * stay, survive * passed[-1], passed, before.sum() + moved.sum()


class Member:
    """One member of one house."""

    def __init__(self, model, parameters, state, member):
        self.model, self.par, self.m = model, parameters, member
        self.layout = parameters.layout(model)
        self.pairs = parameters.substages.pairs
        self.s = {(b.name, b.pest, b.enemy, b.zone): state[b.rows, member].copy() for b in self.layout.blocks}
        self.pests, self.enemies = range(len(model.pests)), range(len(model.enemies))
        self.zones = range(len(model.zones))
        self.fresh = {(e, z): 0.0 for e in self.enemies for z in self.zones}
        self.hunters = range(len(model.enemies), len(model.agents))
        self.young = {(d, z): 0.0 for d in self.hunters for z in self.zones}
        self.hypers = range(len(model.agents), len(model.agents) + len(model.hyperparasitoids))
        self.new_hypers = {(h, z): 0.0 for h in self.hypers for z in self.zones}
        self.doomed = dict.fromkeys(self.zones, 0.0)

    def pest(self, name, p):
        return float(self.par.get(name, pest=p)[self.m])

    def enemy(self, name, e):
        return float(self.par.get(name, enemy=e)[self.m])

    def pair(self, name, j):
        return float(self.par.get(name, pair=j)[self.m])

    def hosts(self, p, z):
        """Numbers of the six host stages."""

        def of(*names):
            return sum(self.s[name, p, None, z].sum() for name in names)

        return np.array([*(of(n) for n in NYMPHS), of("young_adults", "wingless"), of("flying", "winged")])

    def stung(self, j, z):
        p, e = self.pairs[j]
        return np.array([self.s[f"stung_{size}", p, e, z].sum() for size in SIZES])

    def live(self, p, z):
        return self.hosts(p, z).sum() + sum(
            self.stung(j, z).sum() for j in range(len(self.pairs)) if self.pairs[j][0] == p
        )

    # At midnight.

    def gone(self, e, z):
        """Daily loss of females, more of them where there is no honeydew."""
        half = self.enemy("food_half", e)
        hungry = half / (half + sum(self.density[p, z] for p in self.pests))
        return self.enemy("adult_loss", e) + self.enemy("hungry_loss", e) * hungry

    def swing(self, draws):
        for p in self.pests:
            kept = np.exp(-1.0 / self.pest("swing_time", p))
            sd = np.array([self.pest("growth_swing", p), self.pest("attack_swing", p)])
            luck = self.s["luck", p, None, None]
            luck[:] = kept * luck + np.sqrt(1 - kept**2) * sd * draws[2 * p : 2 * p + 2]

    def crowd(self, z):
        self.node = {}
        for p in self.pests:
            zone = self.model.zones[z]
            mean = self.live(p, z) / (zone.plants * self.model.leaves_per_plant)
            k = 200.0
            if mean > 0:
                k = clumping_from_taylor(mean, self.pest("taylor_a", p), self.pest("taylor_b", p))
            k = float(np.clip(min(k, 200.0) * np.exp(-self.pest("log_clumping", p)), 0.02, 200.0))
            grid = np.log(np.geomspace(0.02, 200.0, self.par.shared.nodes.shape[0]))
            nodes = np.array([np.interp(np.log(k), grid, column) for column in self.par.shared.nodes.T])
            here = nodes * mean
            full = self.pest("ceiling_loss", p) * (here / self.pest("ceiling", p)) ** 2
            by_crowding = np.mean(nodes * full / (1 + full / 3.0))
            rise = here**2 / (here**2 + self.pest("winged_half", p) ** 2)
            self.node[p], self.density[p, z] = nodes, mean
            self.crowded[p, z] = by_crowding
            self.loss[p, z] = by_crowding + self.pest("unexplained_loss", p)
            self.wish[p, z] = self.pest("winged_least", p) + self.pest("winged_more", p) * np.mean(
                nodes * rise
            )

    def bout(self, z, heat):
        zone = self.model.zones[z]
        area = zone.plants * self.model.leaf_area_m2
        for e in self.enemies:
            table = self.par.shared.enemy_tables[e]
            watches = heat.reshape(8, 3).mean(axis=1)
            active = np.interp(watches, GRID, table[2]).mean()
            eggs = np.interp(heat.mean(), GRID, table[3]) * self.enemy("eggs", e)
            females = self.s["females", None, e, z]
            mine = [j for j in range(len(self.pairs)) if self.pairs[j][1] == e]
            for j in mine:
                self.hazard[j, z] = np.zeros(6)
            if females.sum() <= 0 or active <= 0:
                continue
            appeal, met = {}, {}
            for j in mine:
                p = self.pairs[j][0]
                taste = self.par.shared.preference[j]
                appeal[j] = self.pair("acceptance", j) * np.exp(
                    self.pest("log_attack", p) + self.s["luck", p, None, None][1]
                )
                worth = taste @ self.hosts(p, z)
                for i, (other, _) in enumerate(self.pairs):
                    if other == p:
                        worth += (1 - self.enemy("avoidance", e)) * (taste[[1, 3, 4]] @ self.stung(i, z))
                met[j] = appeal[j] * worth / area
            rate = self.enemy("attack_rate", e) * interference(
                females.sum() / zone.plants, self.enemy("interference", e)
            )
            worth = sum(met[j] * self.node[self.pairs[j][0]] for j in mine)
            wet = sum(self.density[p, z] * self.node[p] / self.pest("honeydew_half", p) for p in self.pests)
            found = rate * worth / (1 + wet**2)
            demand = active * np.mean(found / (1 + self.enemy("handling_time", e) * found))
            if worth.mean() <= 0:
                continue
            laid = females @ np.minimum(demand, eggs * self.par.shared.egg_shape[e][: len(females)])
            gone = self.gone(e, z) - np.log(1 - self.s["residue", None, None, z][0])
            laid *= (1 - np.exp(-gone)) / gone if gone > 1e-9 else 1.0
            for j in mine:
                m = laid * appeal[j] * self.par.shared.preference[j] / (area * worth.mean())
                self.hazard[j, z] = daily_hazard(m, self.enemy("refuge_k", e))

    def young_of(self, h, e, z):
        """Young of a hyperparasitoid in the mummies of a wasp."""
        return self.s[f"hyper_young_{h - len(self.model.agents)}", None, e, z]

    def closed(self, z):
        """Closed mummies with anything alive in them."""
        return sum(
            self.s["mummies", None, e, z].sum() + sum(self.young_of(h, e, z).sum() for h in self.hypers)
            for e in self.enemies
        )

    def pace_of(self, h, heat):
        names = ("lower_threshold", "thermal_constant", "optimum_temperature", "upper_temperature")
        return float(np.mean(thermal_performance(heat, *(self.enemy(n, h) for n in names))))

    def sting_mummies(self, z, heat):
        """What hyperparasitoids do to the mummies of one zone in a day."""
        area = self.model.zones[z].plants * self.model.leaf_area_m2
        closed = self.closed(z)
        for h in self.hypers:
            females, warm = (
                self.s["hyper_females", None, h, z][0],
                self.pace_of(h, heat) / self.enemy("pace", h),
            )
            self.stinging[h, z] = 0.0
            if females > 0 and closed > 0:
                found = self.enemy("attack_rate", h) * warm * closed / area
                laid = min(
                    found / (1 + self.enemy("handling_time", h) * found), self.enemy("eggs_per_day", h) * warm
                )
                gone = self.enemy("adult_loss", h) - np.log(1 - self.s["residue", None, None, z][0])
                laid *= females * (1 - np.exp(-gone)) / gone
                self.stinging[h, z] = float(daily_hazard(laid / closed, self.enemy("refuge_k", h)))

    def light_of(self, day):
        """Hours from sunrise to sunset."""
        if self.model.latitude is None:
            return 24.0
        return float(day_length(self.model.latitude, (self.model.day_of_year - 1 + day) % 365.25 + 1))

    def hunt(self, z, heat, light):
        """What predators do to one zone in a day."""
        shared, zone = self.par.shared, self.model.zones[z]
        area = zone.plants * self.model.leaf_area_m2
        for p in self.pests:
            self.teeth[p, z] = np.zeros(6)
        for e in self.enemies:
            self.chewed[e, z] = 0.0
        for d in self.hunters:
            i = d - len(self.enemies)
            get = lambda name, d=d: self.enemy(name, d)  # noqa: E731
            tables, share = shared.hunters.tables[i], shared.hunters.stage_share[i]
            growth = np.mean(
                thermal_performance(
                    heat,
                    *(
                        get(n)
                        for n in (
                            "lower_threshold",
                            "thermal_constant",
                            "optimum_temperature",
                            "upper_temperature",
                        )
                    ),
                )
            )
            active = np.interp(heat.reshape(8, 3).mean(axis=1), GRID, tables[1]).mean()
            self.larva_loss[d, z], self.laid[d, z], self.rest[d] = 0.0, 0.0, 0.0
            kinds = ("eggs", "L1", "L2", "L3", "pupae", "adults", "carrier")
            if not any(self.s[kind, None, d, z].sum() for kind in kinds):
                continue  # who is let go during the day begins at midnight
            larvae = np.array([self.s[stage, None, d, z].sum() for stage in ("L1", "L2", "L3")])
            pace = shared.hunters.prey_share[i] / share[1:4]
            appetite = get("prey_per_larva") * growth
            # Food on the leaf, in oldest nymphs.
            taste, worth = shared.hunters.preference[i], shared.hunters.worth[i]
            meal = {}
            for p in self.pests:
                food = (taste * worth) @ self.hosts(p, z)
                for j, (q, _) in enumerate(self.pairs):
                    if q == p:
                        food += (taste * worth)[[1, 3, 4]] @ self.stung(j, z)
                meal[p] = shared.hunters.accepted[i, p] * food / area
            closed = self.closed(z)
            mummies = shared.hunters.mummy_taste[i] * worth[4] * closed / area
            food = sum(meal.values()) + mummies
            there = mummies + sum(meal[p] * self.node[p] for p in self.pests)
            fed = 0.0
            if food > 0 and appetite > 0:
                found = get("attack_rate") * active * there / (pace.max() * appetite)
                among = get("larvae_among_prey")
                fed = min(1.0, np.mean((1 - among + among * there / food) * found / (1 + found)))
            poison = -np.log(1 - self.s["residue", None, None, z][0])
            loss = get("larva_loss") + poison + (get("starving_loss") * (1 - fed) if appetite > 0 else 0.0)
            self.larva_loss[d, z] = loss
            eaten = (larvae @ pace) * appetite * fed * ((1 - np.exp(-loss)) / loss if loss > 1e-9 else 1.0)
            if eaten > 0:
                each = eaten / (food * area)
                k = get("refuge_k")
                for p in self.pests:
                    self.teeth[p, z] += daily_hazard(each * shared.hunters.accepted[i, p] * taste, k)
                for e in self.enemies:
                    self.chewed[e, z] += float(daily_hazard(each * shared.hunters.mummy_taste[i], k))
            # Eggs, where females are and colonies.
            adults = self.s["adults", None, d, z]
            if len(adults):
                ripe = adults @ shared.hunters.egg_shape[i][: len(adults)]
                here = sum(
                    shared.hunters.accepted[i, p] * self.density[p, z] * self.node[p] for p in self.pests
                )
                eggs = np.interp(heat.mean(), GRID, tables[2]) * get("eggs") * active
                gone = get("adult_loss") + poison
                if here.mean() > 0:
                    settle = here**2 / (here**2 + get("prey_for_egg_laying") ** 2)
                    chosen = np.mean(here * settle * here / (here + get("egg_half_prey"))) / here.mean()
                    self.laid[d, z] = ripe * eggs * chosen * (1 - np.exp(-gone)) / gone
                dark = np.abs(np.arange(24) + 0.5 - 12) > light / 2
                if dark.any():
                    critical = get("critical_day_length") + get("critical_day_length_night") * (
                        20.0 - heat[dark].mean()
                    )
                    self.rest[d] = 1 / (1 + np.exp((light - critical) / get("day_length_spread")))

    # Each step.

    def step_hunters(self, d, z, hours, dt):
        i = d - len(self.enemies)
        share = self.par.shared.hunters.stage_share[i]
        dying, _, _, hot = (np.interp(hours, GRID, t).mean() for t in self.par.shared.hunters.tables[i])
        survive = max(0.0, 1 - dying * self.enemy("immature_death", d))
        cool = (1 - 0.25 * hot * dt) / (1 + 0.25 * hot * dt)
        names = ("lower_threshold", "thermal_constant", "optimum_temperature", "upper_temperature")
        rate = np.mean(thermal_performance(hours, *(self.enemy(n, d) for n in names)))
        flow = self.laid[d, z] * dt
        for k, stage in enumerate(("eggs", "L1", "L2", "L3")):
            chain = self.s[stage, None, d, z]
            on = 1.0 if stage == "eggs" else np.exp(-self.larva_loss[d, z] * dt / 2)
            a = rate / share[k] * len(chain) * dt
            self.s[stage, None, d, z], flow, _, _ = chain_step(chain, on * cool, a, flow, survive)
        chain = self.s["pupae", None, d, z]
        if not len(chain):
            return
        flow *= (1 - self.rest[d]) * self.enemy("floor_survival", d)
        self.s["pupae", None, d, z], out, _, _ = chain_step(
            chain, cool, rate / share[4] * len(chain) * dt, flow, survive
        )
        self.young[d, z] += out * self.enemy("share_female", d)
        chain = self.s["carrier", None, d, z]
        a = rate * self.enemy("thermal_constant", d) / self.enemy("carrier_heat", d) * len(chain) * dt
        self.s["carrier", None, d, z], out, _, _ = chain_step(chain, cool, a, 0.0, 1.0)
        self.young[d, z] += out

    def step_young(self, e, z, hours, dt, stung, total):
        """Hyperparasitoids in the mummies of one wasp, of which so many were stung in this step."""
        for h in self.hypers:
            chain = self.young_of(h, e, z)
            a = self.pace_of(h, hours) * len(chain) * dt
            entering = stung * self.stinging[h, z] / total if total > 0 else 0.0
            spared = np.exp(-self.chewed[e, z] * dt / 2)
            chain[:], out, passed, found = chain_step(
                chain, self.keep[e] * spared, a, entering, self.enemy("survive", h)
            )
            self.s["ragged_shells", None, e, z] += out
            self.s["dead_mummies", None, e, z] += passed.sum() * (1 - self.enemy("survive", h))
            self.s["dead_mummies", None, e, z] += found * (1 - self.keep[e])
            self.new_hypers[h, z] += out * self.enemy("share_female", h)

    def rates(self, hours, dt):
        par = self.par

        def development(get, i):
            names = ("lower_threshold", "thermal_constant", "optimum_temperature", "upper_temperature")
            return float(np.mean(thermal_performance(hours, *(get(name, i) for name in names))))

        self.r = {p: development(self.pest, p) for p in self.pests}
        self.w = {e: development(self.enemy, e) for e in self.enemies}
        self.cool, self.keep = {}, {}
        self.live_on, self.age, self.births_of, self.stung_on, self.mummy_on = {}, {}, {}, {}, {}
        for p in self.pests:
            death, ageing, births, hot = (np.interp(hours, GRID, t).mean() for t in par.shared.pest_tables[p])
            self.cool[p] = (1 - 0.25 * hot * dt) / (1 + 0.25 * hot * dt)
            growth = np.exp(self.pest("log_growth", p) + self.s["luck", p, None, None][0])
            self.live_on[p] = max(0.0, 1 - death * self.pest("mortality", p))
            self.age[p] = ageing / self.pest("life", p)
            self.births_of[p] = (
                births
                * self.pest("fecundity", p)
                * np.exp(self.pest("growth_leverage", p) * min(growth - 1, 1.0))
            )
        for e in self.enemies:
            stung, mummy, _, _, hot = (np.interp(hours, GRID, t).mean() for t in par.shared.enemy_tables[e])
            self.keep[e] = (1 - 0.25 * hot * dt) / (1 + 0.25 * hot * dt)
            self.stung_on[e] = max(0.0, 1 - stung * self.enemy("immature_death", e))
            self.mummy_on[e] = max(0.0, 1 - mummy * self.enemy("immature_death", e))

    def step_pest(self, p, z, dt):
        par = self.par.shared
        total = {
            stage: self.loss[p, z]
            + self.teeth[p, z][i]
            + sum(self.hazard[j, z][i] for j in range(len(self.pairs)) if self.pairs[j][0] == p)
            for i, stage in enumerate(STAGES)
        }
        stay = {stage: np.exp(-total[stage] * dt / 2) for stage in STAGES}
        stung = {j: np.zeros(3) for j in range(len(self.pairs)) if self.pairs[j][0] == p}

        def move(name, stage, a, inflow, survive=1.0):
            key = (name, p, None, z)
            cool = self.cool[p] if name in NYMPHS else 1.0
            count = len(self.s[key])
            self.s[key], out, passed, found = chain_step(
                self.s[key], stay[stage] * cool, a * count * dt, inflow, survive
            )
            for j in stung:
                stung[j][SIZE_OF[stage]] += taken(j, stage) * found * cool
            return out, passed

        def taken(j, stage):
            """Share of those found in half a step that a pair stings."""
            if total[stage] == 0:
                return 0.0
            return (1 - stay[stage]) * self.hazard[j, z][STAGES.index(stage)] / total[stage]

        flow = 0.0
        for i, name in enumerate(NYMPHS):
            flow, _ = move(name, name, self.r[p] / par.instar_share[p, i], flow, self.live_on[p])
        winged = flow * self.s["winged_share", p, None, z][0]
        flow, _ = move(
            "young_adults", "wingless", self.r[p] / self.pest("pre_reproductive", p), flow - winged
        )
        _, passed = move("wingless", "wingless", self.age[p], flow)
        births = self.births_of[p] * (passed @ par.wingless_shape[p])
        winged, _ = move("flying", "winged", 1 / self.pest("winged_flight", p), winged)
        came = (
            dt
            * self.model.zones[z].area_m2
            * self.pest("immigration", p)
            * np.exp(self.pest("log_immigration", p))
        )
        settled = winged * (1 - self.pest("winged_leaving", p)) + came
        _, passed = move("winged", "winged", self.age[p], settled)
        births += self.births_of[p] * self.pest("winged_births", p) * (passed @ par.winged_shape[p])

        for j in stung:
            e = self.pairs[j][1]
            for size, name in enumerate(SIZES):
                on = np.exp(-(self.loss[p, z] + self.teeth[p, z][(1, 3, 4)[size]]) * dt / 2)
                key = (f"stung_{name}", p, e, z)
                n = len(self.s[key])
                a = self.w[e] / self.enemy("mummy_share", e) / self.pair("slowness", j) * n * dt
                self.s[key], out, passed, _ = chain_step(
                    self.s[key], on * self.keep[e], a, stung[j][size], self.stung_on[e]
                )
                bearing = max(1, n // 3)
                births += par.stung_births[j, size] * passed[:bearing].sum() / bearing
                self.to_mummy[e] += out

        # Newborn are one more inflow of the step; what would pass beyond the fifth substage stays there.
        half = 0.5 * self.r[p] / par.instar_share[p, 0] * len(self.s["N1", p, None, z]) * dt
        depth = min(5, len(self.s["N1", p, None, z]))
        young = np.zeros(depth)
        for i in range(depth - 1):
            young[i] = births / (1 + half)
            births *= half / (1 + half) * self.live_on[p]
        young[depth - 1] = births
        self.s["N1", p, None, z][:depth] += young * self.cool[p] * stay["N1"]
        for j in stung:
            key = ("stung_N1_to_N3", p, self.pairs[j][1], z)
            self.s[key][0] += young.sum() * self.cool[p] * taken(j, "N1")

    def step_wasps(self, e, z, hours, dt):
        key = ("mummies", None, e, z)
        a = self.w[e] / (1 - self.enemy("mummy_share", e)) * len(self.s[key]) * dt
        stinging = sum(self.stinging[h, z] for h in self.hypers)
        off_leaf = self.chewed[e, z] + stinging
        rested = self.to_mummy[e] * self.resting[e]
        self.s["dead_mummies", None, e, z] += rested
        self.s[key], out, passed, found = chain_step(
            self.s[key],
            self.keep[e] * np.exp(-off_leaf * dt / 2),
            a,
            self.to_mummy[e] - rested,
            self.mummy_on[e],
        )
        self.s["dead_mummies", None, e, z] += found * (1 - self.keep[e])
        self.s["dead_mummies", None, e, z] += passed.sum() * (1 - self.mummy_on[e])
        self.s["shells", None, e, z] += out
        self.fresh[e, z] += out * self.enemy("share_female", e)
        if self.hypers:
            taken = found * self.keep[e] * (1 - np.exp(-off_leaf * dt / 2))
            stung = taken * stinging / off_leaf if off_leaf > 0 else 0.0
            self.step_young(e, z, hours, dt, stung, stinging)
        key = ("carrier", None, e, z)
        a = (
            self.w[e]
            * self.enemy("thermal_constant", e)
            / self.enemy("carrier_heat", e)
            * len(self.s[key])
            * dt
        )
        self.s[key], out, _, _ = chain_step(self.s[key], self.keep[e], a, 0.0, 1.0)
        self.fresh[e, z] += out

    def treat(self, z, kill_pest, kill_enemy, level, days, kill_mummies):
        self.doomed[z] = 1 - (1 - self.doomed[z]) * (1 - kill_mummies)
        for h in self.hypers:
            self.s["hyper_females", None, h, z] *= 1 - kill_enemy
            self.new_hypers[h, z] *= 1 - kill_enemy
            self.stinging[h, z] *= 1 - kill_enemy
        for (name, p, e, zone), chain in self.s.items():
            if zone == z and p is not None and name != "winged_share":
                chain *= 1 - kill_pest
            if zone == z and name == "females":
                chain *= 1 - kill_enemy
                self.fresh[e, z] *= 1 - kill_enemy
            if zone == z and name in ("L1", "L2", "L3", "adults"):
                chain *= 1 - kill_enemy
        for d in self.hunters:
            self.young[d, z] *= 1 - kill_enemy
            self.laid[d, z] *= 1 - kill_enemy
        for p in self.pests:
            self.teeth[p, z] = self.teeth[p, z] * (1 - kill_enemy)
        for e in self.enemies:
            self.chewed[e, z] *= 1 - kill_enemy
        for j in range(len(self.pairs)):
            self.hazard[j, z] = self.hazard[j, z] * (1 - kill_enemy)
        residue = self.s["residue", None, None, z]
        if level > residue[0]:
            residue[:] = level, level / max(days, 1.0)

    # At the day's end.

    def age_females(self):
        for z in self.zones:
            residue = self.s["residue", None, None, z]
            for e in self.enemies:
                hazard = self.gone(e, z) - np.log(1 - residue[0])
                females = self.s["females", None, e, z]
                females[1:] = females[:-1] * np.exp(-hazard)
                females[0] = self.fresh[e, z] * np.exp(-hazard / 2)
                self.fresh[e, z] = 0.0
                for name in ("shells", "dead_mummies", *(("ragged_shells",) if self.hypers else ())):
                    self.s[name, None, e, z] *= np.exp(-self.enemy("mummy_fall", e))
            for d in self.hunters:
                adults = self.s["adults", None, d, z]
                if len(adults):
                    gone = self.enemy("adult_loss", d) - np.log(1 - residue[0])
                    adults[1:] = adults[:-1] * np.exp(-gone)
                    adults[0] = self.young[d, z] * np.exp(-gone / 2)
                    self.young[d, z] = 0.0
            for h in self.hypers:
                gone = self.enemy("adult_loss", h) - np.log(1 - residue[0])
                self.s["hyper_females", None, h, z] *= np.exp(-gone)
                self.s["hyper_females", None, h, z] += self.new_hypers[h, z] * np.exp(-gone / 2)
                self.new_hypers[h, z] = 0.0
            residue[0] = max(0.0, residue[0] - residue[1])

    def die_in_mummies(self):
        for z in self.zones:
            for e in self.enemies:
                for chain in (self.s["mummies", None, e, z], *(self.young_of(h, e, z) for h in self.hypers)):
                    self.s["dead_mummies", None, e, z] += self.doomed[z] * chain.sum()
                    chain *= 1 - self.doomed[z]
            self.doomed[z] = 0.0

    def mix(self, name, index, share, i, pull):
        """A share of each zone goes to the others, by nearness along the house and by pull."""
        at = [self.s[(name, i, None, z) if name == "flying" else (name, None, i, z)] for z in self.zones]
        middles = self.model.centres_m
        leaving = np.array([share * chain[index] for chain in at])
        for z in self.zones:
            # Source: facts, dispersal_distance 8 m a day; evidence practice. A Laplace kernel, nil to itself.
            weight = np.exp(-np.abs(middles - middles[z]) / 8.0) * pull
            weight[z] = 0.0
            for other in self.zones:
                at[other][index] += leaving[z] * weight[other] / weight.sum()
            at[z][index] -= leaving[z]

    def walk(self, p):
        """Off crowded plants, and of those who start within a metre of the next zone half come there."""
        lengths = np.sqrt([zone.area_m2 for zone in self.model.zones])
        on_plant = [self.hosts(p, z).sum() / self.model.plants[z] for z in self.zones]
        half = self.pest("walking_half", p)
        leaving = [self.pest("walking", p) * n**2 / (n**2 + half**2) for n in on_plant]
        for block in ("N4", "young_adults", "wingless"):
            before = [self.s[block, p, None, z].copy() for z in self.zones]
            for z in self.zones:
                # Source: facts, walking_distance 1 m a day; evidence practice.
                went = leaving[z] * before[z] * min(0.5 * 1.0 / lengths[z], 0.25)
                for other in (z - 1, z + 1):
                    if other in self.zones:
                        self.s[block, p, None, other] += went
                        self.s[block, p, None, z] -= went

    def mix_evenly(self, name, index, share, i):
        """A share of all zones is pooled and comes down by plants."""
        plants = self.model.plants
        at = [self.s[name, None, i, z] for z in self.zones]
        pool = sum(share * chain[index] for chain in at)
        for chain, weight in zip(at, plants / plants.sum(), strict=True):
            chain[index] += pool * weight - share * chain[index]

    def pull_of_hosts(self, e):
        """Plants of each zone, and more of it where there are more hosts to a leaf than in the house."""
        leaves = self.model.plants * self.model.leaves_per_plant
        mine = [p for p, enemy in self.pairs if enemy == e]
        hosts = np.array([sum(self.hosts(p, z).sum() for p in mine) for z in self.zones])
        mean = max(hosts.sum() / leaves.sum(), 1e-300)
        return self.model.plants * (1.0 + self.enemy("attraction", e) * hosts / leaves / mean)

    def day(self, heat, draws, events, steps, day=0):
        """Run one day; events are (step, kind, enemy, zone, amounts)."""
        self.loss, self.crowded, self.wish, self.hazard = {}, {}, {}, {}
        self.teeth, self.chewed, self.larva_loss, self.laid, self.rest = {}, {}, {}, {}, {}
        self.stinging, self.density = {}, {}
        short_and_cold = {
            e: self.light_of(day) < self.enemy("rest_day_length", e)
            and heat.mean() < self.enemy("rest_temperature", e)
            for e in self.enemies
        }
        self.resting = {e: self.enemy("rest_share", e) * short_and_cold[e] for e in self.enemies}
        self.swing(draws)
        for z in self.zones:
            self.crowd(z)
            self.bout(z, heat)
            self.hunt(z, heat, self.light_of(day))
            self.sting_mummies(z, heat)
        warmth = dict.fromkeys(self.pests, 0.0)
        for step in range(steps):
            for when, kind, e, z, amounts in events:
                if when == step and kind == "spray":
                    self.treat(z, *amounts)
                elif when == step and e in self.hypers:
                    self.new_hypers[e, z] += amounts
                elif when == step and e in self.hunters and kind == "larvae":
                    self.s["L1", None, e, z][0] += amounts
                elif when == step and kind == "adults":
                    self.fresh[e, z] += amounts
                elif when == step:
                    self.s["carrier", None, e, z][0] += amounts
            per = max(1, 24 // steps)
            first = step * 24 // steps
            self.rates(heat[first : first + per], 1.0 / steps)
            for p in self.pests:
                warmth[p] += self.r[p] / steps
            for z in self.zones:
                self.to_mummy = dict.fromkeys(self.enemies, 0.0)
                for p in self.pests:
                    self.step_pest(p, z, 1.0 / steps)
                for e in self.enemies:
                    self.step_wasps(e, z, heat[first : first + per], 1.0 / steps)
                for d in self.hunters:
                    self.step_hunters(d, z, heat[first : first + per], 1.0 / steps)
        self.age_females()
        for p in self.pests:
            late = self.par.shared.instar_share[p, 2:].sum()
            for z in self.zones:
                share = self.s["winged_share", p, None, z]
                share += (1 - np.exp(-warmth[p] / late)) * (self.wish[p, z] - share)
        if len(self.zones) > 1:
            for p in self.pests:
                self.mix("flying", 0, self.pest("exchange", p), p, self.model.plants)
                self.walk(p)
            for e in self.enemies:
                pull = self.pull_of_hosts(e)
                for age in range(len(self.s["females", None, e, 0])):
                    self.mix("females", age, self.enemy("exchange", e), e, pull)
            for d in self.hunters:
                for age in range(len(self.s["adults", None, d, 0])):
                    self.mix_evenly("adults", age, self.enemy("exchange", d), d)
            for h in self.hypers:
                self.mix_evenly("hyper_females", 0, self.enemy("exchange", h), h)
        self.die_in_mummies()

    def state(self):
        """Return the member's column of the state."""
        column = np.zeros(self.layout.n_state)
        for b in self.layout.blocks:
            column[b.rows] = self.s[b.name, b.pest, b.enemy, b.zone]
        return column
