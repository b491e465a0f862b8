// When a walk may stop: the stop lines came with the farm, so that this phone needs nobody to ask.

// The least and the most that a count can mean: a class is an interval, a number is itself.
function bounds(kit, found) {
  const part = kit.classes.find((known) => known.key === found);
  if (!part) return [Number(found), Number(found)];
  return [part.low, part.high === null ? Infinity : part.high];
}

// Returns null where there are no lines, else {stop: "few" | "many" | "enough"} or {more: number of clean ones}.
export function whereItStands(kit, lines, walk) {
  if (!lines || lines.unit !== walk.unit || walk.chosen === "hunted") return null;
  let least = 0;
  let most = 0;
  for (const unit of walk.units)
    for (const found of Object.values(unit.finds)) {
      const [low, high] = bounds(kit, found);
      least += low;
      most += high;
    }
  const looked = walk.units.length;
  const under = (number, sum) => {
    const limit = lines.low_at_or_under[number - lines.least];
    return limit !== null && limit !== undefined && sum <= limit;
  };
  if (looked >= lines.most) return { stop: "enough" };
  if (looked >= lines.least) {
    const over = lines.high_at_or_over[looked - lines.least];
    if (under(looked, most)) return { stop: "few" };
    if (over !== null && over !== undefined && least >= over) return { stop: "many" };
  }
  for (let number = Math.max(looked + 1, lines.least); number < lines.most; number += 1)
    if (under(number, most)) return { more: number - looked };
  return { more: lines.most - looked };
}
