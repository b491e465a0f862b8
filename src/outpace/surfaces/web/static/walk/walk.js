// The walk: choose a house, tap through its plants, finish. Each tap is kept before the next one is taken.
import { saveCopy } from "./copy.js";
import { changeCount, drawUnit, pestName } from "./counting.js";
import { daysSince, element, field, fill, listed, localTime, root, say, screen } from "./page.js";
import { emptyUnit, infested, isTouched, mummies } from "./rows.js";
import { farmKit, randomHex, sendAll, sendByItself, stopLines } from "./send.js";
import * as store from "./store.js";

const farm = root.dataset.farm;
let kit = null;
let lines = {}; // when a walk of each house may stop
let walk = null;
let before = []; // earlier states of the unit on the screen, for Undo
let lastWrite = Promise.resolve();
let named = new URLSearchParams(location.search).get("named"); // the aphid that the species key named

function settings() {
  try {
    return JSON.parse(localStorage.getItem("outpace-look") || "{}");
  } catch {
    return {};
  }
}

function keepSettings(changes) {
  const told = { ...settings(), ...changes };
  localStorage.setItem("outpace-look", JSON.stringify(told));
  document.documentElement.dataset.hand = told.hand || "right";
  document.documentElement.dataset.look = told.look || "";
}

function keepNow() {
  const copy = structuredClone(walk);
  lastWrite = lastWrite.then(() => store.keepWalk(copy)).catch(() => fill("signal", say("not-kept")));
  return lastWrite;
}

function houseOf(name) {
  return (
    kit.houses.find((house) => house.house === name) || { house: name, crop: "", zones: [], pests: [], unit: "plant", last_walk: null }
  );
}

// Choosing

function houseButtons(open) {
  return kit.houses.map((house) => {
    const going = open.find((item) => item.house === house.house);
    const age = house.last_walk ? daysSince(house.last_walk) : null;
    const told = age === null ? say("never") : say(age ? "ago" : "ago-today", { days: age });
    const go = element(
      "button",
      { type: "button", class: "tap house-go" },
      going ? say("go-on", { house: house.house, n: going.units.length }) : say("begin", { house: house.house }),
      element("small", {}, `${house.crop} · ${told}`),
    );
    go.dataset.do = "begin";
    go.dataset.house = house.house;
    const line = element("button", { type: "button", class: "tap" }, say("in-a-line"));
    line.setAttribute("aria-label", `${house.house} ${say("in-a-line")}`);
    line.dataset.do = "in-a-line";
    line.dataset.house = house.house;
    return element("li", {}, go, line);
  });
}

function firstSentence() {
  const first = kit.houses[0];
  if (!first) return say("no-house");
  if (!first.last_walk) return say("first-never", { house: first.house });
  const days = daysSince(first.last_walk);
  return days > 1 ? say("first-old", { house: first.house, days }) : say("first-today", { house: first.house });
}

function queueItem(item) {
  const done = item.units.length || item.line?.looked || 0;
  const state = item.state === "refused" ? say("state-refused", { why: item.why.join(" ") }) : say(`state-${item.state}`);
  const right = element("div", {}, element("p", { class: "deed" }, `${item.house}: ${done} · ${state}`));
  if (item.state === "conflict") {
    right.append(element("ul", { class: "plain" }, ...item.why.map((text) => element("li", {}, text))));
    right.append(element("p", { class: "why" }, say("both-kept")));
  }
  const ways = { conflict: ["keep-book", "keep-mine"], refused: ["mend", "remove"], sent: ["remove"], ready: [], open: [] }[item.state];
  const buttons = ways.map((way) => {
    const button = element("button", { type: "button", class: "tap" }, say(way));
    button.dataset.do = way;
    button.dataset.walk = item.id;
    return button;
  });
  right.append(element("p", { class: "chips" }, ...buttons));
  const when = element("p", { class: "gutter" }, element("time", { datetime: item.started }, item.started.slice(5, 16).replace("T", " ")));
  return element("li", { class: "entry" }, when, right);
}

async function choose({ focus = true } = {}) {
  walk = null;
  const walks = await store.allWalks();
  fill("eyebrow", say("walk-of", { farm: kit ? kit.farm : "" }));
  fill("title", kit ? firstSentence() : say("no-kit"));
  listed("houses", kit ? houseButtons(walks.filter((item) => item.state === "open")) : []);
  listed("queue", walks.filter((item) => item.state !== "open").reverse().map(queueItem));
  field("queue").hidden = !walks.some((item) => item.state !== "open");
  screen("choose", { focus });
}

// Counting

function newWalk(house) {
  const unit = field("unit").value || house.unit;
  return {
    id: `${house.house.normalize("NFKD").replace(/[^A-Za-z0-9]+/g, "-").toLowerCase().slice(0, 24) || "walk"}-${randomHex(8)}`,
    farm: kit.farm,
    house: house.house,
    unit,
    chosen: field("chosen").value,
    scout: field("scout").value.trim(),
    mummies: field("mummies").checked,
    started: localTime(),
    finished: null,
    state: "open",
    pest: house.pests[0] || "unknown",
    units: [],
    current: emptyUnit(house.zones[0]),
    line: null,
    why: [],
  };
}

function draw() {
  drawUnit(kit, houseOf(walk.house), walk, lines[walk.house]);
}

async function begin(name) {
  const open = (await store.allWalks()).find((item) => item.state === "open" && item.house === name);
  walk = open || newWalk(houseOf(name));
  before = [];
  if (named && kit.pests.some((pest) => pest.key === named)) takeName();
  await keepNow();
  store.askToStay();
  draw();
  screen("count");
}

function takeName() {
  walk.pests = [...new Set([...(walk.pests || []), named])];
  walk.pest = named;
  named = null;
  const address = new URL(location.href);
  address.searchParams.delete("named");
  history.replaceState(null, "", address);
}

function change(act) {
  before.push(structuredClone(walk.current));
  if (before.length > 40) before.shift();
  act(walk.current);
  keepNow();
  draw();
}

function next() {
  walk.units.push(walk.current);
  walk.current = emptyUnit(walk.current.zone);
  before = [];
  field("exact-number").value = "";
  root.querySelector('[data-form="exact"]').hidden = true;
  keepNow();
  draw();
}

function undo() {
  if (before.length) walk.current = before.pop();
  else if (isTouched(walk.current)) walk.current = emptyUnit(walk.current.zone);
  else if (walk.units.length) walk.current = walk.units.pop();
  keepNow();
  draw();
}

async function finish() {
  if (isTouched(walk.current)) next();
  if (!walk.units.length) {
    await store.dropWalk(walk.id);
    return choose();
  }
  walk.finished = localTime();
  walk.state = "ready";
  return ended(say("done", { house: walk.house, n: walk.units.length, infested: infested(walk), mummies: mummies(walk) }));
}

async function ended(sentence) {
  await keepNow();
  fill("eyebrow", walk.house);
  fill("title", sentence);
  fill("done-state", say("state-ready"));
  const link = root.querySelector('[data-fill="ahead-link"]');
  link.href = `/house/${encodeURIComponent(walk.house)}${farm ? `?farm=${encodeURIComponent(farm)}` : ""}`;
  screen("done");
  const id = walk.id;
  await sendAll();
  const after = (await store.allWalks()).find((item) => item.id === id);
  if (after) fill("done-state", after.state === "refused" ? say("state-refused", { why: after.why.join(" ") }) : say(`state-${after.state}`));
}

// One line

function inALine(name) {
  walk = newWalk(houseOf(name));
  fill("eyebrow", name);
  fill("title", say("one-line"));
  fill("line-fault", "");
  const options = [...new Set([walk.pest, "unknown", ...kit.pests.map((pest) => pest.key)])];
  field("line-pest").replaceChildren(...options.map((key) => element("option", { value: key }, pestName(kit, key))));
  for (const part of ["looked", "infested", "about", "mummies"]) field(`line-${part}`).value = "";
  screen("line");
  field("line-looked").focus();
}

function keepLine() {
  const numbers = {};
  for (const part of ["looked", "infested", "about", "mummies"]) {
    const text = field(`line-${part}`).value.trim();
    if (text && !/^\d{1,6}$/.test(text)) return fill("line-fault", say("whole-number"));
    numbers[part] = text ? Number(text) : null;
  }
  if (numbers.infested > numbers.looked) return fill("line-fault", say("too-many-infested"));
  if (numbers.about !== null && numbers.about < numbers.infested) return fill("line-fault", say("fewer-aphids"));
  walk.line = { ...numbers, pest: field("line-pest").value };
  walk.finished = walk.started;
  walk.state = "ready";
  return ended(say("done-line", { house: walk.house, n: numbers.looked, infested: numbers.infested }));
}

// The queue

async function settle(id, act) {
  const item = (await store.allWalks()).find((found) => found.id === id);
  if (item) await act(item);
  await choose({ focus: false });
}

const QUEUE = {
  "keep-book": (item) => store.keepWalk({ ...item, state: "sent", why: [] }),
  "keep-mine": (item) => sendAll({ correct: item.id }),
  mend: (item) => store.keepWalk({ ...item, state: "open", finished: null, line: null }),
};

function remove(button) {
  if (!button.dataset.sure) {
    button.dataset.sure = "yes";
    button.textContent = say("sure-remove");
    return;
  }
  settle(button.dataset.walk, (item) => store.dropWalk(item.id));
}

const DEEDS = {
  begin: (button) => begin(button.dataset.house),
  "in-a-line": (button) => inALine(button.dataset.house),
  clean: () => {
    if (isTouched(walk.current)) change((unit) => Object.assign(unit, { finds: {}, winged: {}, mummies: {} }));
    else next();
  },
  class: (button) => change((unit) => (unit.finds[walk.pest] = button.dataset.class)),
  exact: () => {
    root.querySelector('[data-form="exact"]').hidden = false;
    field("exact-number").focus();
  },
  more: (button) => change(() => changeCount(walk, button.dataset)),
  pest: (button) => change(() => (walk.pest = button.dataset.pest)),
  zone: (button) => change((unit) => (unit.zone = button.dataset.zone)),
  next,
  undo,
  finish,
  leave: () => choose(),
  save: async () => saveCopy(walk, await store.photosOf(walk.id)),
  send: async () => {
    reached(await sendAll());
    await choose({ focus: false });
  },
  remove,
};

function reached(yes) {
  fill("signal", say(yes ? "online" : "offline"));
}

root.addEventListener("click", (event) => {
  const button = event.target.closest("button[data-do]");
  if (!button) return;
  const deed = DEEDS[button.dataset.do];
  if (deed) deed(button);
  else if (QUEUE[button.dataset.do]) settle(button.dataset.walk, QUEUE[button.dataset.do]);
});

root.addEventListener("submit", (event) => {
  event.preventDefault();
  if (event.target.dataset.form === "line") return keepLine();
  const text = field("exact-number").value.trim();
  if (/^\d{1,5}$/.test(text)) {
    change((unit) => {
      if (Number(text)) unit.finds[walk.pest] = String(Number(text));
      else delete unit.finds[walk.pest];
    });
    event.target.hidden = true;
  }
  return undefined;
});

root.addEventListener("change", async (event) => {
  const { target } = event;
  if (target.id === "hand" || target.id === "look") keepSettings({ [target.id]: target.value });
  else if (target.id === "scout") await store.keep("scout", target.value.trim());
  else if (target.dataset.do === "other-pest" && target.value) {
    walk.pests = [...new Set([...(walk.pests || []), target.value])];
    change(() => (walk.pest = target.value));
  } else if (target.id === "spot") change((unit) => (unit.spot = target.checked));
  else if (["seen", "sure", "note"].includes(target.id)) change((unit) => (unit[target.id] = target.value.trim()));
  else if (target.id === "photo" && target.files[0]) {
    const photo = { id: randomHex(16), walk: walk.id, content: target.files[0], ending: target.files[0].type.split("/")[1] || "jpg" };
    await store.keepPhoto(photo);
    change((unit) => unit.photos.push(photo.id));
    target.value = "";
  }
});

async function start() {
  const told = settings();
  field("hand").value = told.hand || "right";
  field("look").value = told.look || "";
  try {
    field("scout").value = (await store.kept("scout")) || "";
    kit = await store.kept(`kit:${farm}`);
  } catch {
    fill("title", say("not-kept"));
    screen("choose");
    return;
  }
  const open = (await store.allWalks()).filter((item) => item.state === "open");
  if (kit && open.length) await begin(open[open.length - 1].house); // a reload in the middle goes on where it was
  else if (kit) await choose({ focus: false });
  await learnFarm();
  await sendByItself(async (yes) => {
    reached(yes);
    if (!walk) await choose({ focus: false });
  });
  await worker();
}

async function learnFarm() {
  const found = await farmKit(farm);
  if (found.kit) kit = found.kit;
  reached(found.reached);
  redraw();
  if (!kit) setTimeout(learnFarm, 5_000);
  else
    stopLines(farm).then((told) => {
      lines = told;
      if (walk) redraw();
    });
}

function redraw() {
  if (!walk) choose({ focus: false });
  else if (walk.state === "open" && !walk.line && !field("count").hidden) draw();
}

async function worker() {
  if (!navigator.serviceWorker || !isSecureContext) return fill("worker", say("worker-off"));
  try {
    const registered = await navigator.serviceWorker.register("/sw.js");
    await navigator.serviceWorker.ready;
    fill("worker", say(registered.waiting ? "new-version" : "worker-on"));
  } catch {
    fill("worker", say("worker-off"));
  }
  return undefined;
}

start();
