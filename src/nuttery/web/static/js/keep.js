// What this phone keeps, in IndexedDB: notes until and after they are sent, photos, plain facts.
// A note's state: "kept" (here only), "registered", "refused" or "conflict" (needs a person),
// "dropped" (the person chose what the register holds).

const POINTER = "nuttery-planting";
let base = null;
let channel = null;

/** The planting whose notes this phone last kept, or null. */
export function lastPlanting() {
  return localStorage.getItem(POINTER);
}

/** Open what is kept of one planting; a strange planting's notes are never mixed in. */
export async function open(planting) {
  localStorage.setItem(POINTER, planting);
  base?.close();
  base = await new Promise((done, failed) => {
    const asked = indexedDB.open(`nuttery-${planting}`, 1);
    asked.onupgradeneeded = () => {
      const notes = asked.result.createObjectStore("notes", { keyPath: "id" });
      notes.createIndex("seq", "seq", { unique: true });
      asked.result.createObjectStore("photos");
      asked.result.createObjectStore("facts");
    };
    asked.onsuccess = () => done(asked.result);
    asked.onerror = () => failed(asked.error);
  });
  base.onversionchange = () => base.close();
  channel?.close();
  channel = "BroadcastChannel" in window ? new BroadcastChannel(`nuttery-${planting}`) : null;
  if (channel) channel.onmessage = () => document.dispatchEvent(new Event("kept"));
}

function changed() {
  channel?.postMessage("kept");
  document.dispatchEvent(new Event("kept"));
}

/** Do something within one transaction; done only when it is safely written. */
function within(stores, mode, act) {
  return new Promise((done, failed) => {
    const all = base.transaction(stores, mode, { durability: "strict" });
    let result;
    all.oncomplete = () => done(result);
    all.onerror = () => failed(all.error);
    all.onabort = () => failed(all.error ?? new Error("not kept"));
    act(all, (value) => { result = value; });
  });
}

/** Keep a note, with its photo if it has one. The same id again changes nothing. */
export async function keepNote(note, words, person, photo = null) {
  await within(["notes", "photos"], "readwrite", (all) => {
    const notes = all.objectStore("notes");
    const there = notes.get(note.id);
    there.onsuccess = () => {
      if (there.result) return;
      const last = notes.index("seq").openKeyCursor(null, "prev");
      last.onsuccess = () => {
        const seq = (last.result?.key ?? 0) + 1;
        notes.add({ id: note.id, seq, note, words, person, state: "kept", faults: [], standing: "" });
        if (photo) all.objectStore("photos").put(photo, note.id);
      };
    };
  });
  changed();
}

/** Change what is known of some kept notes: id → changes. Notes never become unregistered. */
export async function mark(changes) {
  await within(["notes"], "readwrite", (all) => {
    const notes = all.objectStore("notes");
    for (const [id, told] of Object.entries(changes)) {
      const there = notes.get(id);
      there.onsuccess = () => {
        if (there.result && there.result.state !== "registered") notes.put({ ...there.result, ...told });
      };
    }
  });
  changed();
}

/** Everything kept, in the order in which it was written. */
export function allKept() {
  return within(["notes"], "readonly", (all, give) => {
    const asked = all.objectStore("notes").index("seq").getAll();
    asked.onsuccess = () => give(asked.result);
  });
}

/** The photo of a note, or undefined. */
export function photoOf(id) {
  return within(["photos"], "readonly", (all, give) => {
    const asked = all.objectStore("photos").get(id);
    asked.onsuccess = () => give(asked.result);
  });
}

/** Forget a photo that the server holds. */
export function forgetPhoto(id) {
  return within(["photos"], "readwrite", (all) => all.objectStore("photos").delete(id));
}

/** Forget registered notes beyond the newest few hundred; the register has them. */
export async function tidy(most = 500) {
  const registered = (await allKept()).filter((kept) => kept.state === "registered");
  const old = registered.slice(0, Math.max(0, registered.length - most));
  if (!old.length) return;
  await within(["notes"], "readwrite", (all) => {
    for (const kept of old) all.objectStore("notes").delete(kept.id);
  });
}

/** A plain fact kept under a name. */
export function fact(name) {
  return within(["facts"], "readonly", (all, give) => {
    const asked = all.objectStore("facts").get(name);
    asked.onsuccess = () => give(asked.result);
  });
}

/** Keep a plain fact. */
export function setFact(name, value) {
  return within(["facts"], "readwrite", (all) => all.objectStore("facts").put(value, name));
}
