// Walks leave this phone when the book can be reached; sent twice they change nothing.
import * as store from "./store.js";
import { tablesOf } from "./rows.js";

const EVERY_MS = 10_000;
const PATIENCE_MS = 8_000;
const LINES_PATIENCE_MS = 120_000;

export function randomHex(bytes) {
  return [...crypto.getRandomValues(new Uint8Array(bytes))].map((b) => b.toString(16).padStart(2, "0")).join("");
}

export async function device() {
  let name = await store.kept("device");
  if (!name) {
    name = `phone-${randomHex(6)}`;
    await store.keep("device", name);
  }
  return name;
}

// What the book answers is read by a person here: it is asked for in the language of the page.
async function asked(path, options = {}, patience = PATIENCE_MS) {
  const url = new URL(path, location.href);
  url.searchParams.set("lang", document.documentElement.lang);
  return fetch(url, { ...options, signal: AbortSignal.timeout(patience) });
}

// Returns the farm as the book knows it, or as this phone last knew it.
export async function farmKit(farm) {
  const key = `kit:${farm}`;
  try {
    const answer = await asked(`/api/walk-kit${farm ? `?farm=${encodeURIComponent(farm)}` : ""}`);
    if (answer.ok) {
      const kit = await answer.json();
      await store.keep(key, kit);
      return { kit, reached: true };
    }
  } catch {
    // No signal: what is kept will do.
  }
  return { kit: await store.kept(key), reached: false };
}

// Returns when a walk of each house may stop, as the book says or as this phone last knew it.
export async function stopLines(farm) {
  const key = `stop:${farm}`;
  try {
    const answer = await asked(`/api/stop-lines${farm ? `?farm=${encodeURIComponent(farm)}` : ""}`, {}, LINES_PATIENCE_MS);
    if (answer.ok) await store.keep(key, await answer.json());
  } catch {
    // What is kept will do.
  }
  const lines = await store.kept(key);
  return Object.fromEntries((lines?.houses || []).map((house) => [house.house, house.stop]));
}

async function sendOne(walk, correct) {
  for (const photo of await store.photosOf(walk.id)) {
    const answer = await asked(`/api/photos/${photo.id}`, { method: "PUT", body: photo.content });
    if (answer.ok) await store.dropPhoto(photo.id);
    else if (answer.status < 500) break; // The count goes on without it; the photo stays here.
  }
  const answer = await asked("/api/walks", {
    method: "POST",
    headers: { "content-type": "application/json" },
    body: JSON.stringify({
      tables: tablesOf(walk),
      by: walk.scout || "not told",
      device: await device(),
      correct,
    }),
  });
  const told = await answer.json().catch(() => ({}));
  if (answer.ok) return { ...walk, state: "sent", why: [] };
  if (answer.status === 409) return { ...walk, state: "conflict", why: told.conflicts.map((conflict) => conflict.text) };
  // Not signed in any more is no fault of the walk: it waits here.
  if (answer.status >= 500 || answer.status === 401) throw new Error("the book cannot be reached");
  const error = told.error || {};
  return { ...walk, state: "refused", why: [[error.where, error.what, error.allowed, error.hint].filter(Boolean).join(" · ")] };
}

let sending = null;

// Sends what is ready, one walk at a time; returns whether the book was reached.
export function sendAll({ correct = null } = {}) {
  sending ||= (async () => {
    let reached = true;
    for (const walk of await store.allWalks()) {
      if (walk.state !== "ready" && walk.id !== correct) continue;
      try {
        await store.keepWalk(await sendOne(walk, walk.id === correct));
      } catch {
        reached = false;
        break;
      }
    }
    return reached;
  })().finally(() => {
    sending = null;
  });
  return sending;
}

export function sendByItself(after) {
  const turn = async () => {
    const waiting = (await store.allWalks()).some((walk) => walk.state === "ready");
    if (waiting) after(await sendAll());
  };
  addEventListener("online", turn);
  setInterval(turn, EVERY_MS);
  return turn();
}
