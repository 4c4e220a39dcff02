// Makes events on this device and hands them in. An event is the server's when its receipt names it and its bytes, and not before.

import { all, holdInHand, keep, keepBytes, letGoOf, mark, takeBack } from "/assets/outbox.js";
import { ask, inParts, isAway, sendNow, sendPart } from "/assets/send.js";
import { digestOf, sha256 } from "/assets/sha256.js";
import { isAnothers, notRecorded } from "/assets/whose.js";

const memory = new Map();

function remembered(key) {
    try { return localStorage.getItem(key) ?? memory.get(key); } catch { return memory.get(key); }
}

function remember(key, value) {
    memory.set(key, value);
    try { localStorage.setItem(key, value); } catch { /* a device that keeps nothing has a new id each time it loads a page */ }
}

// A UUID of version 7: RFC 9562, section 5.7.
export function newId(now = Date.now()) {
    const bytes = crypto.getRandomValues(new Uint8Array(16));
    for (let i = 0; i < 6; i += 1) bytes[i] = Math.floor(now / 2 ** (8 * (5 - i))) % 256;
    bytes[6] = 0x70 | (bytes[6] & 0x0f);
    bytes[8] = 0x80 | (bytes[8] & 0x3f);
    const hex = Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("");
    return [hex.slice(0, 8), hex.slice(8, 12), hex.slice(12, 16), hex.slice(16, 20), hex.slice(20)].join("-");
}

// This device's clock, with its offset: RFC 3339.
function now() {
    const at = new Date();
    const offset = -at.getTimezoneOffset();
    const two = (n) => String(Math.floor(n)).padStart(2, "0");
    const local = new Date(at.getTime() + offset * 60000).toISOString().slice(0, -1);
    return `${local}${offset < 0 ? "-" : "+"}${two(Math.abs(offset) / 60)}:${two(Math.abs(offset) % 60)}`;
}

function device() {
    const known = remembered("device");
    if (known) return known;
    const made = newId();
    remember("device", made);
    return made;
}

// `over` are the statements that whoever states something anew has before them.
export function event(job, body, over) {
    return { id: newId(), job, when: now(), device: device(), who: document.body.dataset.who, over, body };
}

// How long it is tried to hand something in while a person waits, ms: at first, and where nobody answered before; how often; and how long between.
const PATIENCE = 6000;
const PATIENCE_AWAY = 1500;
const TRIES = 3;
const BETWEEN = 700;
// From when on what a page held while it was being handed in is sent without it, ms: the page may be gone.
const ABANDONED = 4000;
// The same for what is large or long to make: a plan, a record from elsewhere.
export const PATIENCE_LONG = 60000;

// It is not known whether events were recorded. The very same may be handed in again: they are recorded once.
export class NotKnown extends Error {}

// Asks for something of which nothing is recorded yet.
export async function asked(address, given = {}, patience = PATIENCE) {
    const got = await ask(address, { method: "POST", ...given }, patience);
    if (got === null) throw new NoAnswer("The workshop's computer does not answer: nothing was recorded. Is this phone on its network?");
    if (got.status >= 400) throw new Error(got.said.detail ?? "That can't be answered: nothing was recorded.");
    return got.said;
}

// Nobody was there to ask.
export class NoAnswer extends Error {}

const rested = (ms) => new Promise((done) => { setTimeout(done, ms); });

// Hands one part in while a person waits: what could not be used as it was said is told before anything of it is recorded.
async function tellFirst(rows, until) {
    let told = { away: true };
    for (let tries = 1; tries <= TRIES && told.away && Date.now() < until; tries += 1) {
        if (tries > 1) await rested(BETWEEN);
        told = await sendPart(rows, "?told=first", Math.max(until - Date.now(), BETWEEN));
        // A full disk is full a moment later, too.
        if (told.why) break;
    }
    return told;
}

const idsOf = (rows) => rows.map((row) => row.id);

// Whether what waited of the job before has gone: an event may need what was recorded before it.
async function isNextOf(job, ids, until) {
    const isBefore = (row) => row.job === job && row.state === "waiting" && !ids.includes(row.id);
    if (!(await all()).rows.some(isBefore)) return true;
    await Promise.race([sendNow(), rested(until - Date.now())]);
    return !(await all()).rows.some(isBefore);
}

let turn = Promise.resolve();

// Hands events in, one press after the other. They are on this device's disk before the network is tried; where nobody answers, they wait there and are sent
// without the page. Gives whether they wait, and what the workshop's computer says of it, where it said something.
export function handIn(job, events) {
    const handed = turn.then(() => inHand(events, () => handInNext(job, events)));
    turn = handed.catch(() => {});
    return handed;
}

// Nobody else of this page sends them meanwhile: what is told of them must be all that becomes of them.
async function inHand(events, handingIn) {
    const ids = idsOf(events);
    holdInHand(ids);
    try {
        return await handingIn();
    } finally {
        letGoOf(ids);
    }
}

async function handInNext(job, events) {
    const until = Date.now() + (isAway() ? PATIENCE_AWAY : PATIENCE);
    let kept;
    try {
        kept = await keep(events, until + ABANDONED);
    } catch {
        return handInUnkept(job, events);
    }
    const wait = async (rows, why) => {
        await mark(idsOf(rows), "waiting").catch(() => {});
        return { waiting: true, why };
    };
    if (!(await isNextOf(job, idsOf(kept), until))) return wait(kept);
    let at = 0;
    for (const part of inParts(kept)) {
        const told = await tellFirst(part, until);
        if (told.away) return wait(kept.slice(at), told.why);
        if (told.stuck) {
            await mark(idsOf(kept.slice(at + part.length)), "waiting").catch(() => {});
            throw new Error(`${told.stuck}. It is kept on this device: look at what waits.`);
        }
        if (told.refused) {
            await takeBack(idsOf(kept.slice(at)));
            if (at === 0) throw new Error(told.refused);
            // The parts before are in: the very same must be handed in again, or nothing.
            throw new NotKnown(`Recorded: ${at} of ${events.length}. Then: ${told.refused}`);
        }
        at += part.length;
    }
    sendNow();
    return { waiting: false };
}

// The same on a device whose browser keeps nothing: there it may not be known what became of events.
async function handInUnkept(job, events) {
    const rows = await Promise.all(events.map(async (event) => ({ id: event.id, job, bytes: JSON.stringify(event), digest: await digestOf(event) })));
    const until = Date.now() + PATIENCE;
    let at = 0;
    for (const part of inParts(rows)) {
        const told = await tellFirst(part, until);
        const why = told.stuck ?? told.refused;
        if (why && at === 0) throw new Error(why);
        if (why) throw new NotKnown(`Recorded: ${at} of ${events.length}. Then: ${why}`);
        if (told.away) throw new NotKnown(told.why ?? "The workshop's computer does not answer: it is not known whether this was recorded. Try again, it is recorded once. Is this phone on its network?");
        at += part.length;
    }
    return { waiting: false };
}

// Keeps a sheet (a name, an address) apart from the record, and gives the hash that the record knows it by. The salt keeps a guessed name from being tried.
export async function keepSheet(sheet) {
    const salt = Array.from(crypto.getRandomValues(new Uint8Array(16)), (byte) => byte.toString(16).padStart(2, "0")).join("");
    const kept = await asked("/sheets", { headers: { "content-type": "application/json" }, body: JSON.stringify({ ...sheet, salt }) });
    return kept.sheet;
}

// Most bytes of a photograph, and how files of each kind begin: the same as where they are kept.
const MOST_PHOTOGRAPH = 32 * 1024 * 1024;
const PHOTOGRAPHS = [/^\xff\xd8\xff/, /^\x89PNG\r\n\x1a\n/, /^RIFF[^]{4}WEBP/];

// Keeps a photograph on this device, from where it goes after the events, and gives the hash that the record knows it by.
export async function keepPhotograph(file) {
    const bytes = await file.arrayBuffer();
    const start = String.fromCharCode(...new Uint8Array(bytes.slice(0, 12)));
    if (!PHOTOGRAPHS.some((kind) => kind.test(start))) throw new Error("This is neither JPEG nor PNG nor WebP, and was not kept.");
    if (bytes.byteLength > MOST_PHOTOGRAPH) throw new Error(`A photograph has at most ${MOST_PHOTOGRAPH / 2 ** 20} MB: this one was not kept.`);
    const digest = await sha256(new Uint8Array(bytes));
    try {
        await keepBytes(digest, document.body.dataset.job, bytes);
    } catch {
        // A device that keeps nothing sends it at once.
        await asked("/photographs", { body: file }, PATIENCE_LONG);
    }
    return digest;
}

// Whoever is at the device, asked once. False when they would not say; nobody is where another has signed in than the page was made for.
export async function someoneIsHere() {
    if (isAnothers()) throw new Error(notRecorded());
    if (document.body.dataset.who) return true;
    const dialog = document.getElementById("who");
    dialog.returnValue = "";
    dialog.showModal();
    await new Promise((closed) => { dialog.addEventListener("close", closed, { once: true }); });
    const who = dialog.querySelector("input").value.trim();
    if (dialog.returnValue !== "said" || !who) return false;
    // What a gauge sent meanwhile is nobody's name.
    if (/^[\d.,\s-]+$/.test(who)) throw new Error(`${who} is no name: nothing was recorded. Say who is at this device.`);
    // That the device forgets the name when it can't be told is no reason to record nothing.
    await fetch("/device", { method: "POST", body: new URLSearchParams({ who, back: "/" }), redirect: "manual", signal: AbortSignal.timeout(PATIENCE) }).catch(() => {});
    document.body.dataset.who = who;
    return true;
}
