// A walk as this phone keeps it, turned into rows of the exchange format. Not recorded stays empty and is never zero.

export function emptyUnit(zone) {
  return { zone: zone || null, finds: {}, winged: {}, mummies: {}, spot: false, seen: "", sure: "", note: "", photos: [] };
}

export function isTouched(unit) {
  return (
    Object.keys(unit.finds).length > 0 ||
    Object.keys(unit.mummies).length > 0 ||
    Object.keys(unit.winged).length > 0 ||
    unit.spot ||
    unit.seen !== "" ||
    unit.note !== "" ||
    unit.photos.length > 0
  );
}

export function infested(walk) {
  return walk.units.filter((unit) => Object.keys(unit.finds).length > 0).length;
}

export function mummies(walk) {
  let sum = 0;
  for (const unit of walk.units)
    for (const parts of Object.values(unit.mummies)) for (const n of Object.values(parts)) sum += n;
  return sum;
}

export function tablesOf(walk) {
  const tables = { walks: [row(walk, walk.id, walk.chosen, walk.line ? Number(walk.line.looked) : walk.units.length)] };
  const add = (name, cells) => (tables[name] ||= []).push(cells);
  if (walk.line) {
    add("walk_lines", {
      walk: walk.id,
      pest: walk.line.infested ? walk.line.pest : "any",
      looked_at: walk.line.looked,
      infested: walk.line.infested,
      aphids_about: walk.line.about,
      mummies_about: walk.line.mummies,
    });
    return tables;
  }
  walk.units.forEach((unit, index) => unitRows(add, walk.id, index + 1, unit, walk.mummies));
  const spots = walk.chosen === "hunted" ? [] : walk.units.filter((unit) => unit.spot);
  if (spots.length) {
    // A worst place was looked for: it is told as a hunted walk too, so that it never enters the mean.
    const id = `${walk.id}-worst`;
    tables.walks.push(row(walk, id, "hunted", spots.length));
    spots.forEach((unit, index) => unitRows(add, id, index + 1, unit, walk.mummies));
  }
  return tables;
}

function row(walk, id, chosen, looked) {
  const minutes = walk.finished ? Math.round((Date.parse(walk.finished) - Date.parse(walk.started)) / 6000) / 10 : null;
  return {
    walk: id,
    farm: walk.farm,
    house: walk.house,
    time: walk.started,
    scout: walk.scout || null,
    unit: walk.unit,
    chosen,
    looked_at: looked,
    minutes: minutes !== null && minutes > 0 && minutes < 600 ? minutes : null,
    finished: walk.finished ? "yes" : "no",
  };
}

function unitRows(add, walk, number, unit, mummiesLookedFor) {
  const shared = { walk, unit_no: number, zone: unit.zone };
  const note = [unit.note, ...unit.photos.map((photo) => `photo ${photo}`)].filter(Boolean).join("; ") || null;
  const finds = Object.entries(unit.finds);
  if (!finds.length) add("counts", { ...shared, pest: "any", aphids: "0", winged: null, confidence: null, note });
  finds.forEach(([pest, aphids], index) =>
    add("counts", {
      ...shared,
      pest,
      aphids: String(aphids),
      winged: unit.winged[pest] ?? null,
      confidence: unit.sure || null,
      note: index ? null : note,
    }),
  );
  const colours = Object.entries(unit.mummies);
  for (const [colour, parts] of colours)
    add("mummies", {
      walk,
      unit_no: number,
      colour,
      closed: parts.closed ?? (mummiesLookedFor ? 0 : null),
      empty_smooth: parts.empty_smooth ?? (mummiesLookedFor ? 0 : null),
      empty_ragged: parts.empty_ragged ?? (mummiesLookedFor ? 0 : null),
    });
  if (!colours.length && mummiesLookedFor)
    add("mummies", { walk, unit_no: number, colour: "tan", closed: 0, empty_smooth: 0, empty_ragged: 0 });
  if (unit.seen) add("seen", { walk, unit_no: number, organism: unit.seen });
}
