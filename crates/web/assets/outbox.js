// What was recorded on this device and is not known to be in the workshop's record yet: in the browser's own database, and on its disk, before the network
// is tried. Nothing leaves it but by a receipt, or by a person who was told that it was not recorded.

import { digestOf } from "/assets/sha256.js";

// Rows are events in the order in which they were recorded; bytes are those of photographs.
const STORES = ["rows", "photographs", "bytes", "counts"];
const VERSION = 1;

let opened = null;
// What is being read and written, until its end.
const running = new Set();
const hearing = [];
const others = globalThis.BroadcastChannel ? new BroadcastChannel("outbox") : null;

function answered(request) {
    return new Promise((done, fail) => {
        request.onsuccess = () => done(request.result);
        request.onerror = () => fail(request.error);
    });
}

function make(base) {
    base.createObjectStore("rows", { keyPath: "n", autoIncrement: true }).createIndex("id", "id", { unique: true });
    base.createObjectStore("photographs", { keyPath: "digest" });
    base.createObjectStore("bytes");
    base.createObjectStore("counts");
}

// How long another page may hold the database, ms.
const PATIENCE = 8000;
// How often pages that hold it are called meanwhile, ms. One that the browser put away before it was given the database stands still and would never let go of it: a browser throws away
// a page that was put away and is called.
const CALLED_EVERY = 400;

// What is asked for before there is a database.
let asking = null;

function open() {
    opened ??= new Promise((done, fail) => {
        const asked = indexedDB.open("lastmicron", VERSION);
        asking = asked;
        let isGivenUp = false;
        const calling = setInterval(() => { others?.postMessage("waiting"); }, CALLED_EVERY);
        const giveUp = (why) => { isGivenUp = true; clearInterval(calling); fail(why); };
        const late = setTimeout(() => giveUp(new Error("another page holds the device's database of this app: close it")), PATIENCE);
        asked.onupgradeneeded = () => make(asked.result);
        asked.onerror = () => giveUp(asked.error);
        asked.onblocked = () => giveUp(new Error("another page holds an older database of this app: close it"));
        asked.onsuccess = () => {
            clearTimeout(late);
            clearInterval(calling);
            if (isGivenUp) { asked.result.close(); return; }
            asked.result.onclose = () => { opened = null; };
            asked.result.onversionchange = () => { asked.result.close(); opened = null; };
            done(asked.result);
        };
    });
    opened.catch(() => { opened = null; });
    return opened;
}

function abort(transaction) {
    try { transaction.abort(); } catch { /* it has ended of itself */ }
}

// Does something within one transaction: all of it is on the disk when this is done, or none.
async function within(mode, work) {
    const base = await open();
    const transaction = base.transaction(STORES, mode, { durability: "strict" });
    running.add(transaction);
    const late = setTimeout(() => abort(transaction), PATIENCE);
    const ends = () => { clearTimeout(late); running.delete(transaction); };
    const ended = new Promise((done, fail) => {
        transaction.oncomplete = () => { ends(); done(); };
        transaction.onabort = () => { ends(); fail(transaction.error ?? new Error("the device's database did not take it")); };
    });
    const [rows, photographs, bytes, counts] = STORES.map((name) => transaction.objectStore(name));
    let result;
    try {
        result = await work({ rows, photographs, bytes, counts });
    } catch (failed) {
        ended.catch(() => {});
        abort(transaction);
        throw failed;
    }
    await ended;
    return result;
}

// A page that the browser puts away stands still, and would hold the database against every other page with what it had begun. Nobody was told of that yet: an
// event that was being put in is handed in when the page is shown again, and one that was being taken out is sent twice and recorded once.
function letGo() {
    running.forEach(abort);
    if (asking?.transaction) abort(asking.transaction);
    opened?.then((base) => base.close(), () => {});
    opened = null;
}

addEventListener("pagehide", letGo);
document.addEventListener("freeze", letGo);

async function change(work) {
    const result = await within("readwrite", work);
    hearing.forEach((heard) => heard());
    others?.postMessage("changed");
    return result;
}

others?.addEventListener("message", ({ data }) => { if (data === "changed") hearing.forEach((heard) => heard()); });

// Calls whenever something was put in or has left, here or on another page.
export function onChange(heard) {
    hearing.push(heard);
}

const waits = (one) => one.state !== "aside";

// What was sent is counted from when nothing waited.
async function countAnew({ rows, photographs, counts }) {
    const all = [...await answered(rows.getAll()), ...await answered(photographs.getAll())];
    if (!all.some(waits)) counts.put(0, "sent");
}

async function rowOf(rows, id) {
    return answered(rows.index("id").get(id));
}

// Puts events in. Until that time they are with whoever entered them: nobody else sends them.
export async function keep(events, until) {
    const made = Date.now();
    const rows = await Promise.all(events.map(async (event) => ({
        id: event.id, job: event.job, who: event.who, when: event.when, kind: event.body.kind,
        bytes: JSON.stringify(event), digest: await digestOf(event), made, until, state: "waiting",
    })));
    await change(async (stores) => {
        await countAnew(stores);
        for (const row of rows) {
            const before = await rowOf(stores.rows, row.id);
            stores.rows.put(before ? { ...row, n: before.n } : row);
        }
    });
    // A browser that keeps little throws away first what it was not asked to keep.
    navigator.storage?.persist?.().catch(() => {});
    return rows;
}

// Puts a photograph in.
export async function keepBytes(digest, job, bytes) {
    await change(async (stores) => {
        await countAnew(stores);
        stores.photographs.put({ digest, job, size: bytes.byteLength, made: Date.now(), state: "waiting" });
        stores.bytes.put(bytes, digest);
    });
}

// Takes out what the workshop's computer has.
export async function drop(ids) {
    await change(async ({ rows, counts }) => {
        for (const id of ids) {
            const row = await rowOf(rows, id);
            // Another page may have had its receipt first.
            if (!row) continue;
            rows.delete(row.n);
            counts.put(((await answered(counts.get("sent"))) ?? 0) + 1, "sent");
        }
    });
}

export async function dropPhotograph(digest) {
    await change(async ({ photographs, bytes }) => {
        photographs.delete(digest);
        bytes.delete(digest);
    });
}

// Takes out what a person was told is not recorded, and has before them still.
export async function takeBack(ids) {
    await change(async ({ rows }) => {
        for (const id of ids) {
            const row = await rowOf(rows, id);
            if (row) rows.delete(row.n);
        }
    });
}

// Says of events that they wait, are refused ("stuck", and why), or were put aside by a person.
export async function mark(ids, state, why = "") {
    await change(async ({ rows }) => {
        for (const id of ids) {
            const row = await rowOf(rows, id);
            if (row) rows.put({ ...row, state, why, until: 0 });
        }
    });
}

export async function markPhotograph(digest, state, why = "") {
    await change(async ({ photographs }) => {
        const one = await answered(photographs.get(digest));
        if (one) photographs.put({ ...one, state, why });
    });
}

// All there is, oldest first: events, and photographs without their bytes.
export function all() {
    return within("readonly", async ({ rows, photographs, counts }) => ({
        rows: await answered(rows.getAll()),
        photographs: (await answered(photographs.getAll())).sort((one, other) => one.made - other.made),
        sent: (await answered(counts.get("sent"))) ?? 0,
    }));
}

export function bytesOf(digest) {
    return within("readonly", ({ bytes }) => answered(bytes.get(digest)));
}

// Longest that whoever entered something may hold it, ms: a clock that was set back must not hold it for longer.
const LONGEST_HELD = 60000;

// What this page is handing in, for as long as it does: a PIN that is asked for meanwhile takes its time.
const inHand = new Set();

export function holdInHand(ids) { ids.forEach((id) => inHand.add(id)); }

export function letGoOf(ids) { ids.forEach((id) => inHand.delete(id)); }

export function isHeld(row, now = Date.now()) {
    if (inHand.has(row.id)) return true;
    return row.until > now && row.until - now < LONGEST_HELD;
}
