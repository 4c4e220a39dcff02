// The page of what waits on this device: each can be looked at, saved to a file, tried again, and put aside.

import { all, bytesOf, isHeld, mark, markPhotograph, onChange } from "/assets/outbox.js";
import { sendNow } from "/assets/send.js";
import { refuse, tell } from "/assets/app.js";

const list = document.getElementById("waiting");
const aside = document.getElementById("aside");
const nothing = document.getElementById("nothing");
const kept = document.getElementById("kept-for-good");

const KINDS = { "image/jpeg": "jpg", "image/png": "png", "image/webp": "webp" };

function made(name, text, of = {}) {
    const one = document.createElement(name);
    one.textContent = text;
    Object.assign(one, of);
    return one;
}

// Gives a file to whoever is there.
function save(name, blob) {
    const link = made("a", "", { href: URL.createObjectURL(blob), download: name });
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 60000);
}

function saveEvents(rows) {
    const day = new Date().toISOString().slice(0, 10);
    save(`waiting-${day}-${rows.length}.json`, new Blob([`[${rows.map((row) => row.bytes).join(",\n")}]\n`], { type: "application/json" }));
}

async function savePhotograph({ digest }) {
    const bytes = await bytesOf(digest);
    const [first] = new Uint8Array(bytes);
    const type = { 0xff: "image/jpeg", 0x89: "image/png" }[first] ?? "image/webp";
    save(`photograph-${digest.slice(0, 12)}.${KINDS[type]}`, new Blob([bytes], { type }));
}

// What an event says, in a line.
function words(row) {
    const { kind, ...fields } = JSON.parse(row.bytes).body;
    const said = (value) => {
        if (value === null || typeof value !== "object") return String(value);
        return Object.values(value).map(said).join(" ");
    };
    const parts = Object.entries(fields).map(([name, value]) => `${name.replace(/_(mm|um)$/, "").replaceAll("_", " ")} ${said(value)}`);
    return `${kind.replaceAll("-", " ")}${parts.length > 0 ? ": " : ""}${parts.join(", ")}`;
}

const one = {
    event: {
        says: (row) => `${row.when.slice(0, 16).replace("T", " ")} ${row.who}: ${words(row)}`,
        save: (row) => saveEvents([row]),
        mark: (row, state) => mark([row.id], state),
        key: (row) => row.id,
    },
    photograph: {
        says: (picture) => `Photograph, ${(picture.size / 1e6).toFixed(1)} MB`,
        save: savePhotograph,
        mark: (picture, state) => markPhotograph(picture.digest, state),
        key: (picture) => picture.digest,
    },
};

function button(text, about, press) {
    const pressed = made("button", text, { type: "button", className: "second" });
    pressed.setAttribute("aria-label", `${text}: ${about}`);
    pressed.addEventListener("click", () => { press().catch((failed) => refuse(failed.message)); });
    return pressed;
}

function item(as, what) {
    const line = made("li", "");
    line.dataset.key = as.key(what);
    line.dataset.state = what.state;
    const said = as.says(what);
    line.append(made("p", said));
    if (what.state === "stuck") line.append(made("p", `Refused: ${what.why}`, { className: "stop" }));
    const row = made("div", "", { className: "row" });
    row.append(button("Save to a file", said, async () => { await as.save(what); }));
    if (what.state !== "waiting") row.append(button("Try again", said, async () => { await as.mark(what, "waiting"); await again(); }));
    if (what.state === "stuck") row.append(button("Put aside", said, async () => { await as.mark(what, "aside"); tell("It is put aside, and stays on this device."); }));
    line.append(row);
    return line;
}

async function again() {
    const isDone = await sendNow();
    const { rows, photographs } = await all();
    const left = [...rows, ...photographs].filter((what) => what.state !== "aside").length;
    if (left === 0) tell("Nothing waits any more.");
    else if (!isDone) refuse("The workshop's computer does not answer, or can't take it now: everything stays here, and is tried again by itself.");
}

async function show() {
    let found;
    try {
        found = await all();
    } catch {
        nothing.hidden = false;
        nothing.textContent = "This browser keeps nothing for this page: what is recorded from it goes at once, or not at all. Allow it to keep data for this address.";
        return;
    }
    const rows = found.rows.filter((row) => !isHeld(row)).map((what) => item(one.event, what));
    const items = [...rows, ...found.photographs.map((what) => item(one.photograph, what))];
    const isAside = (line) => line.dataset.state === "aside";
    list.replaceChildren(...items.filter((line) => !isAside(line)));
    aside.replaceChildren(...items.filter(isAside));
    aside.parentElement.hidden = aside.children.length === 0;
    list.hidden = list.children.length === 0;
    nothing.hidden = !list.hidden;
    document.getElementById("send-now").hidden = list.hidden;
    document.getElementById("save-all").hidden = found.rows.length === 0;
}

document.getElementById("send-now").addEventListener("click", () => { again().catch((failed) => refuse(failed.message)); });
document.getElementById("save-all").addEventListener("click", async () => saveEvents((await all()).rows));

navigator.storage?.persisted?.().then((isKept) => {
    if (!isKept) kept.textContent = "The browser has not promised to keep this for good: install the app on this device, and open it on the workshop's network before a week is over.";
});

onChange(show);
show();
