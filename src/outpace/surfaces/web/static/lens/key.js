// The key answers at each tap, and without signal: the same sums as the server's, on what the page carries.

const ORDERS_ONLY = new Set(["colour", "place"]);
const form = document.getElementById("key");
const list = document.getElementById("aphids");
const steps = [...form.querySelectorAll("fieldset[data-feature]")];

const words = new Map();
for (const term of document.querySelectorAll("#words dt")) words.set(term.textContent, term.nextElementSibling.textContent);
const say = (key, values = {}) => words.get(key).replace(/\{(\w+)\}/g, (_, name) => values[name] ?? "");

const pairs = (text, by) => text.split(" ").map((part) => part.split(by));
const aphids = [...list.children].map((element) => ({
  element,
  name: element.dataset.name,
  states: new Map(pairs(element.dataset.states, "=").map(([state, fit]) => [state, Number(fit)])),
  enemies: new Map(pairs(element.dataset.enemies, ":").map(([enemy, level]) => [enemy, Number(level)])),
}));
// The order of the book, whatever the server sorted by its own answers.
aphids.sort((a, b) => a.element.dataset.number - b.element.dataset.number);

function told() {
  const found = new Map();
  for (const step of steps) {
    const chosen = step.querySelector("input:checked");
    if (chosen && chosen.value) found.set(step.dataset.feature, chosen.value);
  }
  return found;
}

function lookNext(seen, fitting) {
  if (fitting.length < 2) return null;
  let best = null;
  for (const step of steps) {
    const name = step.dataset.feature;
    if (seen.has(name) || ORDERS_ONLY.has(name)) continue;
    const values = [...step.querySelectorAll("input")].map((input) => input.value).filter(Boolean);
    const left = values.map((value) => fitting.filter((aphid) => aphid.states.has(`${name}:${value}`)).length);
    const expected = left.reduce((sum, n) => sum + n * n, 0) / left.reduce((sum, n) => sum + n, 0);
    if (!best || expected < best.expected - 1e-9) best = { step, expected };
  }
  return best && best.expected < fitting.length ? best.step.dataset.short : null;
}

function sentence(seen, fitting) {
  const all = aphids.length;
  if (!seen.size) return say("start");
  if (!fitting.length) return say("none", { all });
  if (fitting.length === 1) return say("one", { name: fitting[0].name, all });
  const what = lookNext(seen, fitting);
  return what ? say("more", { n: fitting.length, what }) : say("same", { n: fitting.length });
}

function answer() {
  const seen = told();
  for (const aphid of aphids) {
    aphid.against = [...seen].filter(([name, state]) => !ORDERS_ONLY.has(name) && !aphid.states.has(`${name}:${state}`));
    aphid.usual = [...seen].filter(([name, state]) => aphid.states.get(`${name}:${state}`) === 2).length;
  }
  const fitting = aphids.filter((aphid) => !aphid.against.length);
  const order = [...aphids].sort((a, b) => b.usual - a.usual);
  list.append(...order.map((aphid) => aphid.element));
  for (const aphid of aphids) {
    const near = !fitting.length && aphid.against.length === 1;
    aphid.element.hidden = aphid.against.length > 0 && !near;
    const line = aphid.element.querySelector(".near");
    line.hidden = !near;
    if (near) {
      const step = steps.find((one) => one.dataset.feature === aphid.against[0][0]);
      line.textContent = say("near", { what: step.dataset.short });
    }
  }
  for (const item of document.querySelectorAll("#enemies > li")) {
    const level = fitting.length ? Math.min(...fitting.map((aphid) => aphid.enemies.get(item.dataset.enemy) ?? 0)) : 0;
    item.hidden = !level;
    for (const said of item.querySelectorAll("[data-level]")) said.hidden = Number(said.dataset.level) !== level;
  }
  document.getElementById("no-enemy").hidden = fitting.length > 0;
  document.getElementById("said").textContent = sentence(seen, fitting);
  const still = document.getElementById("still");
  still.hidden = !seen.size;
  still.firstElementChild.textContent =
    fitting.length === 1 ? fitting[0].name : say("still", { n: fitting.length, all: aphids.length });
  return seen;
}

// A page kept for the times without signal knows nothing of its address: the answers in it are set here.
const asked = new URLSearchParams(location.search);
for (const step of steps) {
  const value = asked.get(step.dataset.feature) ?? "";
  const input = [...step.querySelectorAll("input")].find((one) => one.value === value);
  if (input) input.checked = true;
}
if (!asked.has("farm")) form.querySelector('[name="farm"]')?.remove();
document.getElementById("said").setAttribute("aria-live", "polite");
form.querySelector("button").hidden = true;
form.addEventListener("change", () => {
  const seen = answer();
  for (const step of steps) asked.delete(step.dataset.feature);
  for (const [name, value] of seen) asked.set(name, value);
  history.replaceState(null, "", asked.size ? `?${asked}` : location.pathname);
});
answer();
