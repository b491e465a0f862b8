// Small helpers to write into the page. Words come from the page itself, so that they are translated with it.

export const root = document.getElementById("walk");

const words = new Map();
for (const term of document.querySelectorAll("#words dt")) words.set(term.textContent, term.nextElementSibling.textContent);

export function say(key, values = {}) {
  const text = words.get(key);
  if (text === undefined) throw new Error(`no words for ${key}`);
  return text.replace(/\{(\w+)\}/g, (_, name) => values[name] ?? "");
}

export function fill(name, text) {
  for (const place of document.querySelectorAll(`[data-fill="${name}"]`)) if (place.textContent !== text) place.textContent = text;
}

export function field(id) {
  return document.getElementById(id);
}

export function element(tag, attributes = {}, ...children) {
  const made = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) if (value !== null) made.setAttribute(name, value);
  made.append(...children);
  return made;
}

export function listed(name, items) {
  document.querySelector(`[data-list="${name}"]`).replaceChildren(...items);
}

export function screen(name, { focus = true } = {}) {
  for (const part of root.querySelectorAll(":scope > section")) part.hidden = part.id !== name;
  if (!focus) return;
  scrollTo(0, 0);
  field("title").focus({ preventScroll: true });
}

export function daysSince(time) {
  return Math.max(0, Math.round((startOfDay(new Date()) - startOfDay(new Date(time))) / 86_400_000));
}

function startOfDay(moment) {
  return new Date(moment.getFullYear(), moment.getMonth(), moment.getDate()).getTime();
}

// The time on this phone's clock with its offset, so that the book need not guess the zone.
export function localTime(moment = new Date()) {
  const offset = -moment.getTimezoneOffset();
  const two = (number) => String(Math.floor(Math.abs(number))).padStart(2, "0");
  const local = new Date(moment.getTime() + offset * 60_000).toISOString().slice(0, 19);
  return `${local}${offset < 0 ? "-" : "+"}${two(offset / 60)}:${two(offset % 60)}`;
}
