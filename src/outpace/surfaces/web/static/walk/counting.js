// One unit of a walk on the screen: what was tapped, and the buttons that show it.
import { element, field, fill, listed, root, say } from "./page.js";
import { infested, isTouched } from "./rows.js";
import { whereItStands } from "./stopping.js";

const COUNTERS = [
  ["tan", "empty_smooth"],
  ["tan", "empty_ragged"],
  ["black", "closed"],
  ["black", "empty_smooth"],
  ["black", "empty_ragged"],
];

export function className(part) {
  return part.high === null ? say("over", { low: part.low - 1 }) : `${part.low}–${part.high}`;
}

function tap(text, data, pressed = null) {
  const button = element("button", { type: "button", class: "tap", "aria-pressed": pressed }, text);
  Object.assign(button.dataset, data);
  return button;
}

export function pestName(kit, key) {
  if (key === "unknown") return say("pest-unknown");
  const known = kit.pests.find((pest) => pest.key === key);
  return known ? known.english : key;
}

// Returns a count as it was tapped: a class in its words, or the number.
function foundAs(kit, found) {
  const part = kit.classes.find((known) => known.key === found);
  return part ? className(part) : String(found);
}

function pestChips(kit, house, walk, unit) {
  const keys = [...new Set([...house.pests, ...(walk.pests || []), ...Object.keys(unit.finds), walk.pest, "unknown"])];
  const chips = keys.map((key) => {
    const chip = tap(pestName(kit, key), { do: "pest", pest: key }, String(key === walk.pest));
    if (unit.finds[key]) chip.append(element("small", {}, foundAs(kit, unit.finds[key])));
    return chip;
  });
  const other = element("select", { class: "tap", "aria-label": say("pest-other"), "data-do": "other-pest" });
  other.append(element("option", { value: "" }, say("pest-other")));
  for (const pest of kit.pests)
    if (!keys.includes(pest.key))
      other.append(element("option", { value: pest.key }, pest.latin ? `${pest.english} (${pest.latin})` : pest.english));
  return [...chips, other];
}

function counter(key, value, data) {
  const what = say(`counter-${key}`);
  const fewer = tap("−", { ...data, do: "more", by: "-1" });
  fewer.setAttribute("aria-label", say("minus", { what }));
  const more = tap("+1", { ...data, do: "more", by: "1" });
  more.setAttribute("aria-label", say("plus", { what }));
  return element("li", {}, element("span", { class: "what" }, what), fewer, more, element("output", {}, String(value)));
}

function stopWords(standing) {
  if (!standing) return "";
  return standing.stop ? say(`stop-${standing.stop}`) : say("more", { n: standing.more });
}

export function drawUnit(kit, house, walk, lines) {
  const unit = walk.current;
  const number = walk.units.length + 1;
  fill("eyebrow", `${walk.house} · ${say("tally", { infested: infested(walk), n: walk.units.length })}`);
  fill("title", say(`unit-${walk.unit}`, { n: number }));
  fill("stop", stopWords(whereItStands(kit, lines, walk)));
  fill("clean", say(walk.mummies ? "clean" : "clean-aphids"));
  fill("next", say(isTouched(unit) ? "next" : "next-clean"));
  const zones = house.zones.length > 1 ? house.zones : [];
  root.querySelector('[data-list="zones"]').hidden = !zones.length;
  listed("zones", zones.map((zone) => tap(zone, { do: "zone", zone }, String(zone === unit.zone))));
  listed("pests", pestChips(kit, house, walk, unit));
  const found = unit.finds[walk.pest];
  listed(
    "classes",
    kit.classes.map((part) => tap(className(part), { do: "class", class: part.key }, String(found === part.key))),
  );
  const exact = found !== undefined && /^\d+$/.test(String(found)) ? found : null;
  const pad = root.querySelector('[data-do="exact"]');
  pad.setAttribute("aria-pressed", String(exact !== null));
  fill("tan-closed", String(unit.mummies.tan?.closed ?? 0));
  root.querySelector(".tans").hidden = !walk.mummies;
  const counters = COUNTERS.map(([colour, part]) =>
    counter(`${colour}-${part}`, unit.mummies[colour]?.[part] ?? 0, { colour, part }),
  );
  listed("counters", [...(walk.mummies ? counters : []), counter("winged", unit.winged[walk.pest] ?? 0, { part: "winged" })]);
  field("spot").checked = unit.spot;
  field("seen").value = unit.seen;
  field("sure").value = unit.sure;
  if (document.activeElement !== field("note")) field("note").value = unit.note;
  fill("photos", unit.photos.length ? say("photos", { n: unit.photos.length }) : "");
}

export function changeCount(walk, { colour, part, by }) {
  const unit = walk.current;
  const holder = part === "winged" ? unit.winged : (unit.mummies[colour] ||= {});
  const key = part === "winged" ? walk.pest : part;
  holder[key] = Math.max(0, (holder[key] ?? 0) + Number(by));
}
