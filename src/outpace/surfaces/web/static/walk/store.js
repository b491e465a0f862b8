// What this phone keeps: walks, photos, and the farm as it was last known. Every tap is written before the next.
import { openDB } from "../vendor/idb.js";

const opened = openDB("outpace", 1, {
  upgrade(db) {
    db.createObjectStore("walks", { keyPath: "id" });
    db.createObjectStore("photos", { keyPath: "id" });
    db.createObjectStore("kept");
  },
});

async function written(store, act) {
  const db = await opened;
  // "strict": the tap is on the disk, not only in memory, when the promise is kept.
  const work = db.transaction(store, "readwrite", { durability: "strict" });
  await Promise.all([act(work.store), work.done]);
}

export const keepWalk = (walk) => written("walks", (store) => store.put(walk));
export const dropWalk = (id) => written("walks", (store) => store.delete(id));
export const keepPhoto = (photo) => written("photos", (store) => store.put(photo));
export const dropPhoto = (id) => written("photos", (store) => store.delete(id));
export const keep = (name, value) => written("kept", (store) => store.put(value, name));

export async function kept(name) {
  return (await opened).get("kept", name);
}

export async function allWalks() {
  const walks = await (await opened).getAll("walks");
  return walks.sort((a, b) => (a.started < b.started ? -1 : 1));
}

export async function photosOf(walk) {
  return (await (await opened).getAll("photos")).filter((photo) => photo.walk === walk);
}

// Asks that what is kept be not dropped for want of room; browsers may still say no.
export async function askToStay() {
  if (navigator.storage?.persist) await navigator.storage.persist();
}
