// Sends what waits on this device: events first, then photographs, until each has its receipt.

import { all, bytesOf, drop, dropPhotograph, isHeld, mark, markPhotograph, onChange } from "/assets/outbox.js";
import { UNASKED, unlocked } from "/assets/lock.js";

// As many events, and as many bytes of them, as are taken at once.
const AT_ONCE = 200;
const BYTES_AT_ONCE = 900000;
// Bytes of a photograph that go at once.
const PART = 256 * 1024;
// How often a part may change nothing before it is left for later.
const IDLE = 3;
// How long an answer is waited for, ms.
const PATIENCE = 15000;
// After how long what did not go is tried again, ms: at first, and at most.
const FIRST_REST = 2000;
const LONGEST_REST = 300000;

// Whether nobody answered when somebody was last asked.
let away = false;
export const isAway = () => away;

// Asks the workshop's computer; none where nobody, or somebody else, answers in time. That it is the workshop's is told by its own header: a gateway's
// page comes with 200 and with 403 alike.
export async function ask(address, given, patience) {
    try {
        const answer = await unlocked(() => fetch(address, { ...given, signal: AbortSignal.timeout(patience) }));
        if (answer.headers.get("x-lastmicron") === null) throw new Error("somebody else answers");
        const said = await answer.json();
        away = false;
        return { status: answer.status, said };
    } catch {
        away = true;
        return null;
    }
}

// What stands in the way of everything, and not of one event: a full disk, a record that is damaged or closed, a device that is not known here or locked.
const concernsAll = (status) => status >= 500 || [401, 408, 421, 423, 429].includes(status);

// Sends events of one job, drops those of which a receipt names id and bytes, and says what became of the rest: `away`, with the reason where one was
// given, or `refused`, with the reason.
export async function sendPart(rows, told, patience) {
    const body = `[${rows.map((row) => row.bytes).join(",")}]`;
    const headers = { "content-type": "application/json", ...(told === "" ? UNASKED : {}) };
    const got = await ask(`/jobs/${rows[0].job}/events${told}`, { method: "POST", headers, body }, patience);
    if (got === null) return { away: true };
    const { status, said } = got;
    if (!Array.isArray(said)) return status < 400 || concernsAll(status) ? { away: true, why: said.detail } : { refused: said.detail ?? "It was not recorded." };
    if (said.length !== rows.length) return { away: true };
    const isReceiptOf = (row, receipt) => receipt?.id === row.id && receipt?.event === row.digest;
    // Where the device's database is not to be had they are sent again, and taken once.
    await drop(rows.filter((row, i) => isReceiptOf(row, said[i].receipt)).map((row) => row.id)).catch(() => {});
    const left = rows.map((row, i) => ({ row, why: said[i].refused ?? "What was recorded under its id is not what this device has." })).filter(({ row }, i) => !isReceiptOf(row, said[i].receipt));
    for (const { row, why } of left) await mark([row.id], "stuck", why).catch(() => {});
    return left.length > 0 ? { stuck: left[0].why } : {};
}

// Sends what waited. Of a part that is refused whole, the ones that are to blame are found by halves.
async function sendRows(rows) {
    const told = await sendPart(rows, "", PATIENCE);
    if (told.away) return false;
    if (!told.refused) return true;
    if (rows.length > 1) {
        const middle = Math.ceil(rows.length / 2);
        return (await sendRows(rows.slice(0, middle))) && sendRows(rows.slice(middle));
    }
    // Asked twice: what was cut on its way is refused, too.
    const again = await sendPart(rows, "", PATIENCE);
    if (again.refused) await mark([rows[0].id], "stuck", again.refused);
    return !again.away;
}

// Events in parts of one job each, in their order.
export function inParts(rows) {
    const parts = [];
    for (const job of new Set(rows.map((row) => row.job))) {
        let bytes = 0;
        let part = [];
        for (const row of rows.filter((one) => one.job === job)) {
            if (part.length === AT_ONCE || (part.length > 0 && bytes + row.bytes.length > BYTES_AT_ONCE)) {
                parts.push(part);
                [part, bytes] = [[], 0];
            }
            part.push(row);
            bytes += row.bytes.length;
        }
        parts.push(part);
    }
    return parts;
}

const goes = (one) => one.state === "waiting" && !isHeld(one);

async function sendEvents() {
    for (const part of inParts((await all()).rows.filter(goes))) {
        if (!(await sendRows(part))) return false;
    }
    return true;
}

// Sends one part of a photograph, and says how much is there. Another page of this device may send it too: what is there is there.
async function sendPartOf({ digest, job }, bytes, at) {
    const body = bytes.slice(at, at + PART);
    const got = await ask(`/photographs/${digest}?at=${at}&of=${bytes.byteLength}&job=${job}`, { method: "PUT", headers: UNASKED, body }, PATIENCE);
    return got?.status === 409 ? { ...got, status: 200 } : got;
}

// Sends a photograph from where its bytes end there, and drops it when they are there whole. Events that come meanwhile go between.
async function sendPhotograph(one) {
    const bytes = await bytesOf(one.digest);
    let got = await ask(`/photographs/${one.digest}`, { headers: UNASKED }, PATIENCE);
    let idle = 0;
    let isAnew = false;
    while (got !== null && got.status < 400 && !got.said.whole) {
        if (!(await sendEvents())) return false;
        const at = got.said.there;
        got = await sendPartOf(one, bytes, at);
        // A power cut there may have left other bytes of the parts that came before: all are sent anew, once.
        if (got?.status === 422 && at > 0 && !isAnew) {
            isAnew = true;
            got = { status: 200, said: { whole: false, there: 0 } };
            continue;
        }
        idle = got?.said.there > at ? 0 : idle + 1;
        if (idle > IDLE) return false;
    }
    if (got === null || concernsAll(got.status)) return false;
    if (!got.said.whole) {
        await markPhotograph(one.digest, "stuck", got.said.detail ?? "It was not kept.");
        return true;
    }
    await dropPhotograph(one.digest);
    document.dispatchEvent(new CustomEvent("photograph", { detail: one.digest }));
    return true;
}

async function sendAll() {
    if (!(await sendEvents())) return false;
    for (const one of (await all()).photographs.filter(goes)) {
        if (!(await sendPhotograph(one))) return false;
    }
    return true;
}

let sending = null;

// Sends all that waits, up to the first refusal that concerns all. True where nothing stood in the way.
export function drain() {
    sending ??= sendAll().finally(() => { sending = null; });
    return sending;
}

let rest = FIRST_REST;
let timer = null;

// Sends, and tries again later as long as something waits.
export async function sendNow() {
    clearTimeout(timer);
    timer = null;
    let isDone = false;
    try { isDone = await drain(); } catch { /* the device's database is not to be had: another time */ }
    if (isDone) rest = FIRST_REST;
    later();
    return isDone;
}

async function later() {
    const { rows, photographs } = await all().catch(() => ({ rows: [], photographs: [] }));
    if (timer !== null || ![...rows, ...photographs].some((one) => one.state === "waiting")) return;
    timer = setTimeout(sendNow, rest);
    rest = Math.min(2 * rest, LONGEST_REST);
}

function soon() {
    rest = FIRST_REST;
    sendNow();
}

onChange(later);
addEventListener("online", soon);
document.addEventListener("connected", soon);
document.addEventListener("visibilitychange", () => { if (!document.hidden) soon(); });
soon();
