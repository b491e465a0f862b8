// One pest's outlook on a canvas: aphids above, mummies below, on one time axis that fingers stretch and shift.
// A canvas says nothing to who hears the page: it is hidden from them, and the table of every day stands below.

const DAY = 86_400;
const spoken = document.documentElement.lang || "en";
const lang = spoken === "en" ? "en-GB" : spoken; // the pages write the day before the month
const figure = new Intl.NumberFormat(lang, { maximumSignificantDigits: 3 });
const whole = new Intl.NumberFormat(lang, { style: "percent", maximumFractionDigits: 0 });
const named = new Intl.DateTimeFormat(lang, { weekday: "short", day: "numeric", month: "short", timeZone: "UTC" });
const short = new Intl.DateTimeFormat(lang, { day: "numeric", month: "short", timeZone: "UTC" });

const words = new Map();
for (const term of document.querySelectorAll("#chart-words dt")) words.set(term.textContent, term.nextElementSibling.textContent);
const say = (key, values = {}) => (words.get(key) ?? key).replace(/\{(\w+)\}/g, (_, name) => values[name] ?? "");

const seconds = (day) => Date.parse(`${day}T00:00:00Z`) / 1000;

function fetched(name) {
  return new Promise((done, failed) => {
    const isStyle = name.endsWith(".css");
    const made = document.createElement(isStyle ? "link" : "script");
    made.onload = done;
    made.onerror = failed;
    if (isStyle) {
      made.rel = "stylesheet";
      made.href = name;
    } else made.src = name;
    document.head.append(made);
  });
}

function inks() {
  const style = getComputedStyle(document.documentElement);
  const told = (name) => style.getPropertyValue(`--${name}`).trim();
  return { ink: told("ink"), soft: told("soft"), rule: told("rule"), paper: told("paper"), grey: told("grey"), wide: told("wash-90"), half: told("wash-50") };
}

// What stands behind the bands: the scenario in grey, hot days hatched.
function behind(plot, told, ink) {
  const { ctx, bbox } = plot;
  const at = (moment) => plot.valToPos(moment, "x", true);
  ctx.save();
  ctx.beginPath();
  ctx.rect(bbox.left, bbox.top, bbox.width, bbox.height);
  ctx.clip();
  if (told.scenario_from) {
    const left = at(seconds(told.scenario_from));
    ctx.fillStyle = ink.grey;
    ctx.fillRect(left, bbox.top, bbox.left + bbox.width - left, bbox.height);
  }
  ctx.strokeStyle = ink.soft;
  ctx.lineWidth = devicePixelRatio;
  for (const hot of told.heat) {
    const [from, to] = [at(seconds(hot.date)), at(seconds(hot.date) + DAY)];
    ctx.save();
    ctx.beginPath();
    ctx.rect(from, bbox.top, to - from, bbox.height);
    ctx.clip();
    for (let x = from - bbox.height; x < to; x += 7 * devicePixelRatio) {
      ctx.beginPath();
      ctx.moveTo(x, bbox.top + bbox.height);
      ctx.lineTo(x + bbox.height, bbox.top);
      ctx.stroke();
    }
    ctx.restore();
  }
  ctx.restore();
}

// What stands in front: the level, today, releases with their names, walks with their intervals.
function infront(plot, told, ink, kind) {
  const { ctx, bbox } = plot;
  const px = devicePixelRatio;
  const at = (moment) => plot.valToPos(moment, "x", true);
  const high = (value) => plot.valToPos(value, "y", true);
  const bottom = bbox.top + bbox.height;
  ctx.save();
  ctx.strokeStyle = ctx.fillStyle = ink.ink;
  ctx.font = `${12 * px}px serif`;
  ctx.textAlign = "center";
  const line = (points, dash = [], wide = 1.5) => {
    ctx.lineWidth = wide * px;
    ctx.setLineDash(dash.map((n) => n * px));
    ctx.beginPath();
    points.forEach(([x, y], n) => (n ? ctx.lineTo(x, y) : ctx.moveTo(x, y)));
    ctx.stroke();
    ctx.setLineDash([]);
  };
  const inside = (x) => x >= bbox.left - 1 && x <= bbox.left + bbox.width + 1;
  if (kind === "aphids" && told.level !== null) {
    const y = high(told.level);
    line([[bbox.left, y], [bbox.left + bbox.width, y]], [9, 5], 2);
  }
  const today = at(seconds(told.as_of));
  if (inside(today)) {
    line([[today, bbox.top - 4 * px], [today, bottom]]);
    ctx.fillText(say("today"), today, bbox.top - 6 * px);
  }
  for (const release of told.releases) {
    const x = at(seconds(release.date));
    if (!inside(x)) continue;
    const y = bbox.top - 2 * px;
    ctx.beginPath();
    ctx.moveTo(x - 5 * px, y - 9 * px);
    ctx.lineTo(x + 5 * px, y - 9 * px);
    ctx.lineTo(x, y);
    ctx.closePath();
    if (release.date <= told.as_of) ctx.fill();
    else {
      ctx.lineWidth = px;
      ctx.stroke();
    }
    line([[x, y], [x, bottom]], [1, 5], 1);
    ctx.fillText(release.label, x, y - 12 * px);
  }
  ctx.beginPath();
  ctx.rect(bbox.left - 6 * px, bbox.top - 6 * px, bbox.width + 12 * px, bbox.height + 12 * px);
  ctx.clip();
  for (const walk of told.walks) {
    const value = kind === "aphids" ? walk.mean : walk.mummies;
    if (value === null) continue;
    const [x, y] = [at(seconds(walk.date)), high(value)];
    if (kind === "aphids" && walk.low !== null && walk.high !== null) {
      const [low, top] = [high(walk.low), high(walk.high)];
      line([[x, low], [x, top]]);
      for (const end of [low, top]) line([[x - 5 * px, end], [x + 5 * px, end]]);
    }
    ctx.beginPath();
    if (walk.hunted) {
      for (const [dx, dy] of [[0, -6], [6, 0], [0, 6], [-6, 0]]) ctx.lineTo(x + dx * px, y + dy * px);
      ctx.closePath();
      ctx.fillStyle = ink.paper;
      ctx.fill();
      ctx.stroke();
      ctx.fillStyle = ink.ink;
    } else {
      ctx.arc(x, y, 4.5 * px, 0, 7);
      ctx.fill();
    }
  }
  ctx.restore();
}

function bend(told, kind) {
  const found = told[kind].q50.filter((value) => value !== null);
  const top = Math.max(...told[kind].q95.filter((value) => value !== null), 0);
  return (kind === "aphids" && told.level) || Math.max(Math.max(...found, 0) / 3, top / 50) || 1;
}

function highest(told, kind) {
  const walks = told.walks.map((walk) => (kind === "aphids" ? walk.high : walk.mummies) ?? 0);
  return 1.08 * Math.max(...told[kind].q95.map((value) => value ?? 0), ...walks, kind === "aphids" ? 1.25 * (told.level ?? 0) : 0, 1e-6);
}

// Round values for lines, a ninth of the height apart at least, on the scale that bends.
function lines(told, kind) {
  const [turn, top] = [bend(told, kind), highest(told, kind)];
  const share = (value) => Math.asinh(value / turn) / Math.asinh(top / turn);
  const chosen = [0];
  for (let power = Math.floor(Math.log10(top)) - 3; power <= Math.log10(top); power += 1)
    for (const value of [1, 2, 5].map((m) => m * 10 ** power))
      if (value <= top && share(value) - share(chosen.at(-1)) >= 1 / 9) chosen.push(value);
  return chosen;
}

function drawing(told, kind, wide, sync, moved) {
  const ink = inks();
  const times = told.days.map(seconds);
  const rows = ["q05", "q95", "q25", "q75", "q50"].map((name) => told[kind][name]);
  const edge = { stroke: "transparent", points: { show: false } };
  const high = matchMedia("(min-width: 44rem)").matches ? 300 : 210;
  return {
    options: {
      width: wide,
      height: kind === "aphids" ? high : Math.round(high * 0.75),
      padding: [34, 12, 0, 0],
      legend: { show: false },
      cursor: { sync: { key: sync }, points: { show: false }, drag: { x: false, y: false }, y: false },
      scales: { x: { time: true }, y: { distr: 4, asinh: bend(told, kind), range: () => [0, highest(told, kind)] } },
      axes: [
        { stroke: ink.ink, grid: { show: false }, ticks: { stroke: ink.ink }, font: "13px serif", space: 64, values: (_, all) => all.map((t) => short.format(t * 1000)), incrs: [DAY, 2 * DAY, 7 * DAY, 14 * DAY, 28 * DAY, 91 * DAY] },
        { stroke: ink.ink, grid: { stroke: ink.rule, width: 1 }, ticks: { show: false }, font: "13px serif", size: 46, splits: () => lines(told, kind), values: (_, all) => all.map((v) => (v === null ? "" : figure.format(v))) },
      ],
      series: [{}, edge, edge, edge, edge, { stroke: ink.ink, width: 2, points: { show: false } }],
      bands: [
        { series: [2, 1], fill: ink.wide },
        { series: [4, 3], fill: ink.half },
      ],
      hooks: {
        drawClear: [(plot) => behind(plot, told, ink)],
        draw: [(plot) => infront(plot, told, ink, kind)],
        setCursor: [(plot) => moved(plot.cursor.idx)],
      },
    },
    data: [times, ...rows],
  };
}

// Fingers: one shifts, two stretch, a tap reads a day. Down the page a finger still scrolls.
function fingers(plot, told, shift) {
  const held = new Map();
  let begun = null;
  const spot = (event) => event.clientX - plot.over.getBoundingClientRect().left;
  const start = () => {
    const all = [...held.values()];
    const { min, max } = plot.scales.x;
    begun = { min, max, middle: all.reduce((sum, x) => sum + x, 0) / all.length, spread: all.length > 1 ? Math.abs(all[0] - all[1]) : 0 };
  };
  plot.over.addEventListener("pointerdown", (event) => {
    held.set(event.pointerId, spot(event));
    plot.over.setPointerCapture(event.pointerId);
    start();
  });
  plot.over.addEventListener("pointermove", (event) => {
    if (!held.has(event.pointerId)) return;
    held.set(event.pointerId, spot(event));
    const all = [...held.values()];
    const middle = all.reduce((sum, x) => sum + x, 0) / all.length;
    const spread = all.length > 1 ? Math.abs(all[0] - all[1]) : 0;
    const by = begun.spread && spread ? begun.spread / spread : 1;
    const wide = plot.over.clientWidth;
    const there = begun.min + ((begun.max - begun.min) * begun.middle) / wide;
    const span = (begun.max - begun.min) * by;
    shift(there - (span * middle) / wide, span);
  });
  for (const name of ["pointerup", "pointercancel"])
    plot.over.addEventListener(name, (event) => {
      held.delete(event.pointerId);
      if (held.size) start();
    });
}

function reading(told, n) {
  const day = told.days[n];
  const parts = [named.format(seconds(day) * 1000)];
  for (const kind of ["aphids", "mummies"]) {
    const row = told[kind];
    if (!row || row.q50[n] === null) continue;
    const values = Object.fromEntries(Object.entries(row).map(([name, all]) => [name, figure.format(all[n])]));
    parts.push(say(`read-${kind}`, values));
  }
  if (told.chance[n] !== null) parts.push(say("read-chance", { chance: whole.format(told.chance[n]) }));
  for (const walk of told.walks.filter((one) => one.date === day))
    parts.push(say(walk.low === null ? "read-walk-bare" : "read-walk", { mean: figure.format(walk.mean), low: figure.format(walk.low ?? 0), high: figure.format(walk.high ?? 0) }));
  for (const release of told.releases.filter((one) => one.date === day)) parts.push(release.label);
  for (const hot of told.heat.filter((one) => one.date === day)) parts.push(say("read-heat", { max: hot.told }));
  return `${parts.join(". ")}.`;
}

function picture(plots, title) {
  const px = devicePixelRatio;
  const made = document.createElement("canvas");
  made.width = Math.max(...plots.map((plot) => plot.ctx.canvas.width));
  made.height = plots.reduce((sum, plot) => sum + plot.ctx.canvas.height, 30 * px);
  const ctx = made.getContext("2d");
  const ink = inks();
  ctx.fillStyle = ink.paper;
  ctx.fillRect(0, 0, made.width, made.height);
  ctx.fillStyle = ink.ink;
  ctx.font = `${15 * px}px serif`;
  ctx.fillText(title, 6 * px, 20 * px);
  let down = 30 * px;
  for (const plot of plots) {
    ctx.drawImage(plot.ctx.canvas, 0, down);
    down += plot.ctx.canvas.height;
  }
  made.toBlob((blob) => {
    const link = document.createElement("a");
    link.href = URL.createObjectURL(blob);
    link.download = "chart.png";
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 10_000);
  });
}

function tool(text, act) {
  const button = document.createElement("button");
  button.type = "button";
  button.className = "press";
  button.textContent = text;
  button.addEventListener("click", act);
  return button;
}

export async function zoomed(place, opener) {
  const [answer] = await Promise.all([
    fetch(place.dataset.chart),
    globalThis.uPlot ? null : fetched(place.dataset.code),
    globalThis.uPlot ? null : fetched(place.dataset.style),
  ]);
  if (!answer.ok) throw new Error("no numbers");
  const told = await answer.json();
  const title = place.dataset.title;
  const box = document.createElement("div");
  box.className = "zoomed";
  const canvases = document.createElement("div");
  canvases.setAttribute("aria-hidden", "true");
  canvases.className = "canvases";
  const read = document.createElement("output");
  read.className = "reading";
  read.textContent = say("how");
  const tools = document.createElement("p");
  tools.className = "chips";
  box.append(tools, canvases, read);
  place.append(box);
  place.classList.add("is-zoomed");
  opener.hidden = true;

  let plots = [];
  const [first, last] = [seconds(told.days[0]), seconds(told.days.at(-1))];
  const back = seconds(told.as_of) - 35 * DAY;
  let range = { min: Math.max(first, back), span: last - Math.max(first, back) };
  let marked = null;

  function shift(min, span) {
    const wide = Math.min(Math.max(span, 3 * DAY), last - first || DAY);
    const from = Math.min(Math.max(min, first - wide / 20), last + wide / 20 - wide);
    range = { min: from, span: wide };
    for (const plot of plots) plot.setScale("x", { min: from, max: from + wide });
  }
  function moved(n) {
    if (n === null || n === undefined || n === marked) return;
    marked = n;
    read.textContent = reading(told, n);
  }
  function draw() {
    for (const plot of plots) plot.destroy();
    canvases.replaceChildren();
    plots = ["aphids", "mummies"]
      .filter((kind) => told[kind])
      .map((kind) => {
        const line = document.createElement("p");
        line.className = "small";
        line.textContent = say(`title-${kind}`);
        canvases.append(line);
        const { options, data } = drawing(told, kind, canvases.clientWidth, place.dataset.chart, moved);
        const plot = new globalThis.uPlot(options, data, canvases);
        fingers(plot, told, shift);
        return plot;
      });
    shift(range.min, range.span);
  }
  const step = (by) => {
    const n = Math.min(Math.max((marked ?? told.days.indexOf(told.as_of)) + by, 0), told.days.length - 1);
    moved(n);
    const moment = seconds(told.days[n]);
    if (moment < range.min || moment > range.min + range.span) shift(moment - range.span / 2, range.span);
    for (const plot of plots) plot.setCursor({ left: plot.valToPos(moment, "x"), top: 10 });
  };
  const stretch = (by) => shift(range.min + (range.span * (1 - by)) / 2, range.span * by);
  tools.append(
    tool(say("closer"), () => stretch(0.6)),
    tool(say("wider"), () => stretch(1 / 0.6)),
    tool(say("day-back"), () => step(-1)),
    tool(say("day-on"), () => step(1)),
    tool(say("save"), () => picture(plots, title)),
    tool(say("drawing"), () => {
      for (const plot of plots) plot.destroy();
      box.remove();
      place.classList.remove("is-zoomed");
      opener.hidden = false;
      opener.focus();
      watch.disconnect();
    }),
  );
  draw();
  let wide = canvases.clientWidth;
  const watch = new ResizeObserver(() => {
    if (canvases.clientWidth === wide || !canvases.isConnected) return;
    wide = canvases.clientWidth;
    draw();
  });
  watch.observe(canvases);
  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => box.isConnected && draw());
  tools.firstElementChild.focus({ preventScroll: true });
}
