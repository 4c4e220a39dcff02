// Makes events on this device and hands them in. An event is the server's when its receipt names it, and not before.

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

export function event(job, body) {
    return { id: newId(), job, when: now(), device: device(), who: document.body.dataset.who, body };
}

// As many events as are taken at once.
const AT_ONCE = 200;
// How long an answer is waited for, how often the same bytes are sent before a person is asked, and how long between: ms, times, ms.
const PATIENCE = 6000;
const TRIES = 3;
const BETWEEN = 700;

// It is not known whether events were recorded. The very same may be handed in again: they are recorded once.
export class NotKnown extends Error {}

// What the workshop's computer says of events; none where nobody knows, who sent them, what became of them.
async function told(job, bytes) {
    try {
        const answer = await fetch(`/jobs/${job}/events?told=first`, {
            method: "POST",
            headers: { "content-type": "application/json" },
            body: bytes,
            signal: AbortSignal.timeout(PATIENCE),
        });
        const said = await answer.json();
        const isKnown = Array.isArray(said) || (answer.status >= 400 && answer.status < 500) || answer.status === 507;
        return isKnown ? said : null;
    } catch {
        return null;
    }
}

async function handInPart(job, events) {
    const bytes = JSON.stringify(events);
    for (let tries = 1; tries <= TRIES; tries += 1) {
        const said = await told(job, bytes);
        if (said !== null) {
            if (!Array.isArray(said)) throw new Error(said.detail ?? "It was not recorded.");
            const refused = said.find((one) => one.refused);
            if (refused) throw new Error(refused.refused);
            const isReceipt = said.length === events.length && said.every((one, i) => one.receipt?.id === events[i].id);
            if (isReceipt) return;
        }
        if (tries < TRIES) await new Promise((rested) => { setTimeout(rested, BETWEEN); });
    }
    throw new NotKnown("The workshop's computer does not answer: it is not known whether this was recorded. Try again, it is recorded once. Is this phone on its network?");
}

// Hands events in. What could not be used as it was said is told before anything is recorded.
export async function handIn(job, events) {
    for (let at = 0; at < events.length; at += AT_ONCE) await handInPart(job, events.slice(at, at + AT_ONCE));
}

// Keeps a sheet (a name, an address) apart from the record, and gives the hash that the record knows it by. The salt keeps a guessed name from being tried.
export async function keepSheet(sheet) {
    const salt = Array.from(crypto.getRandomValues(new Uint8Array(16)), (byte) => byte.toString(16).padStart(2, "0")).join("");
    const answer = await fetch("/sheets", {
        method: "POST",
        headers: { "content-type": "application/json" },
        body: JSON.stringify({ ...sheet, salt }),
    });
    const told = await answer.json().catch(() => ({}));
    if (!answer.ok || !told.sheet) throw new Error(told.detail ?? "The sheet was not kept.");
    return told.sheet;
}

// Keeps a photograph, and gives the hash that the record knows it by.
export async function keepPhotograph(file) {
    const answer = await fetch("/photographs", { method: "POST", body: file });
    const told = await answer.json().catch(() => ({}));
    if (!answer.ok || !told.photograph) throw new Error(told.detail ?? "The photograph was not kept.");
    return told.photograph;
}

// Whoever is at the device, asked once. False when they would not say.
export async function someoneIsHere() {
    if (document.body.dataset.who) return true;
    const asked = document.getElementById("who");
    asked.returnValue = "";
    asked.showModal();
    await new Promise((closed) => { asked.addEventListener("close", closed, { once: true }); });
    const who = asked.querySelector("input").value.trim();
    if (asked.returnValue !== "said" || !who) return false;
    await fetch("/device", { method: "POST", body: new URLSearchParams({ who, back: "/" }), redirect: "manual" });
    document.body.dataset.who = who;
    return true;
}
