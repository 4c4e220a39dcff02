// Whether the page is as it is now, and what waits on this device: told at the foot of every page for as long as it is so.

import { all, isHeld, onChange } from "/assets/outbox.js";

// What waits for as long is told with its age, ms.
const LONG = 86400000;

const told = document.getElementById("stood");
const link = document.getElementById("outbox");
const job = document.body.dataset.job;

// Since when the page is as it is: a page that was kept on this device says so itself.
let made = document.body.dataset.kept ? new Date(Number(document.body.dataset.kept)) : new Date();
let isOld = document.body.dataset.kept !== undefined;
let isConnected = !isOld;

export const isNow = () => isConnected;

function clock(at) {
    const two = (n) => String(n).padStart(2, "0");
    const time = `${two(at.getHours())}:${two(at.getMinutes())}`;
    return at.toDateString() === new Date().toDateString() ? time : `${time} on ${at.getFullYear()}-${two(at.getMonth() + 1)}-${two(at.getDate())}`;
}

// What waits, in words: "12 saved, 9 sent, 3 photographs waiting".
export function counted({ rows, photographs, sent }) {
    const waits = (one) => one.state !== "aside";
    const [events, pictures] = [rows.filter((row) => waits(row) && !isHeld(row)), photographs.filter(waits)];
    if (events.length + pictures.length === 0) return "";
    const many = (n, one, more) => (n === 0 ? "" : `, ${n} ${n === 1 ? one : more}`);
    const stuck = [...events, ...pictures].filter((one) => one.state === "stuck").length;
    const oldest = Math.min(...[...events, ...pictures].map((one) => one.made));
    const age = Date.now() - oldest > LONG ? `, the oldest of ${clock(new Date(oldest))}` : "";
    return `${sent + events.length} saved, ${sent} sent${many(pictures.length, "photograph waiting", "photographs waiting")}${many(stuck, "refused", "refused")}${age}`;
}

async function show() {
    const outbox = await all().catch(() => ({ rows: [], photographs: [], sent: 0 }));
    const words = counted(outbox);
    if (link.textContent !== words) link.textContent = words;
    link.hidden = words === "";
    const here = outbox.rows.filter((row) => row.job === job && row.state !== "aside").length;
    const since = job && here > 0 ? `; ${here} recorded here since` : "";
    const stood = isOld ? `${isConnected ? "This" : "Not connected: this"} is how it stood at ${clock(made)}${since}.` : "";
    if (told.textContent !== stood) told.textContent = stood;
}

// The page is as it is now.
export function isAsItIs() {
    made = new Date();
    [isOld, isConnected] = [false, true];
    show();
}

// Nobody answers: the page is as it was.
export function isAsItWas() {
    [isOld, isConnected] = [true, false];
    show();
}

// The workshop's computer answers; where the page was old it is still, until it is made anew.
export function isAnswered() {
    if (isConnected) return;
    isConnected = true;
    show();
}

// It answers, and can't make the page anew.
export function isNotMadeAnew() {
    [isOld, isConnected] = [true, true];
    show();
}

document.addEventListener("answered", isAnswered);
onChange(show);
show();
