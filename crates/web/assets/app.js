// Forms become events.

import { NotKnown, PATIENCE_LONG, asked, event, handIn, keepPhotograph, keepSheet, newId, someoneIsHere } from "/assets/record.js";
import { refresh } from "/assets/live.js";
import { isNow } from "/assets/standing.js";

// Twice the same within as long is a finger that touched twice, ms.
const TWICE = 1000;

const said = document.getElementById("said");
const refused = document.getElementById("refused");

// How long a refusal stays though something else went well since, ms: it must be seen.
const SEEN = 6000;
let refusedAt = 0;

// How long what went well is told, ms: it lies over the page.
const TOLD = 8000;
let untold = null;

export function tell(words) {
    clearTimeout(untold);
    untold = setTimeout(() => { said.textContent = ""; }, TOLD);
    if (Date.now() - refusedAt > SEEN) refused.textContent = "";
    said.textContent = words;
}

// The same with where it leads: that stays until it is touched.
function tellOf(words, address, name) {
    tell(words);
    clearTimeout(untold);
    const link = document.createElement("a");
    link.href = address;
    link.textContent = name;
    said.append(" ", link);
}

// Refusals that come together are told together.
export function refuse(words) {
    const isRecent = refused.textContent !== "" && Date.now() - refusedAt < SEEN && !refused.textContent.includes(words);
    refused.textContent = isRecent ? `${refused.textContent} ${words}` : words;
    refusedAt = Date.now();
    said.textContent = "";
}

// A control's value as an event has it: text as it was typed, nothing where nothing was.
function value(control) {
    if (control.type === "checkbox") {
        if (control.dataset.off !== undefined) return control.checked ? undefined : JSON.parse(control.dataset.off);
        return control.checked ? true : undefined;
    }
    if (control.type === "file") return undefined;
    if (control.type === "radio" && !control.checked) return undefined;
    const text = control.value.trim();
    if (text === "") return undefined;
    if (control.dataset.as === "whole") return Number(text);
    if (control.dataset.as === "json") return JSON.parse(text);
    return text;
}

// Puts a value under a dotted name: `floor.number`, `shown.0.unit`.
function put(body, name, given) {
    const keys = name.split(".");
    const last = keys.pop();
    let at = body;
    keys.forEach((key, i) => {
        const next = keys[i + 1] ?? last;
        at[key] ??= /^\d+$/.test(next) ? [] : {};
        at = at[key];
    });
    at[last] = given;
}

// Takes away what stands under a dotted name.
function drop(body, name) {
    const keys = name.split(".");
    const last = keys.pop();
    const at = keys.reduce((within, key) => within?.[key], body);
    if (at !== undefined) delete at[last];
}

// What stands in one part of a form: its own controls, and not those of a part within it.
function controls(part, selector) {
    const all = part.querySelectorAll("input[name], select[name], textarea[name]");
    return Array.from(all).filter((control) => control.closest(selector) === part && !control.disabled);
}

// What was left empty goes: a film of which only the unit is there, and what held nothing but such.
function filled(given) {
    if (Array.isArray(given)) {
        const all = Array.from(given, filled).filter((one) => one !== undefined);
        return all.length > 0 ? all : undefined;
    }
    if (given === null) return undefined;
    if (typeof given !== "object") return given;
    const entries = Object.entries(given).map(([key, inner]) => [key, filled(inner)]).filter(([, inner]) => inner !== undefined);
    return entries.some(([key]) => key !== "unit") ? Object.fromEntries(entries) : undefined;
}

// The event that a part of a form says; none where it may be left empty and is. What states a thing anew is laid over what states it now: what was
// emptied goes, and what the form doesn't show stays.
async function saidBy(part) {
    if (part.dataset.body) return JSON.parse(part.dataset.body);
    const body = JSON.parse(part.dataset.base ?? "{}");
    const all = controls(part, "[data-event], [data-sheet]").filter((control) => control.dataset.lay === undefined);
    // Where several said different things: the one that was chosen.
    for (const chosen of part.querySelectorAll("[data-lay]:checked")) Object.assign(body, JSON.parse(chosen.dataset.lay));
    for (const control of all.filter((one) => one.type !== "file")) drop(body, control.name);
    for (const control of all) {
        const given = value(control);
        if (given !== undefined) put(body, control.name, given);
    }
    for (const control of all.filter((one) => one.type === "file")) {
        if (control.files.length > 0) put(body, control.name, await keepPhotograph(control.files[0]));
    }
    for (const sheet of part.querySelectorAll("[data-sheet]")) {
        const filled = Object.fromEntries(controls(sheet, "[data-sheet]").map((control) => [control.name, value(control)]).filter(([, given]) => given !== undefined));
        if (Object.keys(filled).length > 0) put(body, sheet.dataset.sheet, await keepSheet(filled));
    }
    // What the workshop's computer makes and keeps first, like a plan, it tells the event's fields of.
    if (part.dataset.kept) Object.assign(body, await asked(part.dataset.kept, {}, PATIENCE_LONG));
    const told = filled(body);
    if (part.dataset.names && JSON.parse(part.dataset.names).includes(told?.name)) throw new Error(`There is "${told.name}" already: change it where it stands, or give this one another name.`);
    if (part.dataset.optional !== undefined && told === undefined) return null;
    return { kind: part.dataset.event, ...told };
}

// What each form said where it is not known whether that was recorded: the very events, to be handed in again.
const unsettled = new WeakMap();
let last = { said: "", at: 0 };

async function saidIn(form) {
    const parts = [form, ...form.querySelectorAll("[data-event]")].filter((part) => part.dataset.event !== undefined);
    const bodies = (form.dataset.bodies ? JSON.parse(form.dataset.bodies) : []).map((body) => ({ body }));
    for (const ticked of form.querySelectorAll("input[type=checkbox][data-body]:checked")) bodies.push({ body: JSON.parse(ticked.dataset.body) });
    for (const part of parts) {
        const body = await saidBy(part);
        if (body) bodies.push({ body, over: part.dataset.over && JSON.parse(part.dataset.over) });
    }
    if (bodies.length === 0) throw new Error("Nothing is ticked or filled in: nothing was recorded.");
    return bodies;
}

async function settle(form, { job, events }) {
    const wasTouched = form.dataset.touched !== undefined;
    unsettled.set(form, { job, events });
    // Kept on the page until it is known.
    form.dataset.touched = "yes";
    let handed;
    try {
        handed = await handIn(job, events);
    } catch (failed) {
        if (!(failed instanceof NotKnown)) {
            unsettled.delete(form);
            if (!wasTouched) delete form.dataset.touched;
        }
        throw failed;
    }
    unsettled.delete(form);
    delete form.dataset.touched;
    return handed;
}

// What is on this device and not yet in the record.
function tellWaiting(form, recorded, why) {
    form.reset();
    tell(`${recorded} It waits on this device.`);
    if (why) refuse(`The workshop's computer says: ${why}.`);
    document.dispatchEvent(new Event("waiting"));
}

async function submit(form) {
    if (!(await someoneIsHere())) return;
    const before = unsettled.get(form);
    let handed;
    const job = before?.job ?? document.body.dataset.job ?? newId();
    if (before) {
        handed = await settle(form, before);
        if (form.dataset.changed) {
            delete form.dataset.changed;
            form.dataset.touched = "yes";
            refuse("What was entered first is recorded. What was changed since is not: look, and record it anew.");
            return;
        }
    } else {
        const bodies = await saidIn(form);
        const said = JSON.stringify(bodies);
        if (said === last.said && Date.now() - last.at < TWICE) return;
        handed = await settle(form, { job, events: bodies.map(({ body, over }) => event(job, body, over)) });
        last = { said, at: Date.now() };
    }
    const recorded = form.dataset.said ?? "Recorded.";
    if (handed.waiting) {
        tellWaiting(form, recorded, handed.why);
        return;
    }
    if (form.dataset.then) {
        location.assign(form.dataset.then.replace("{job}", job));
        return;
    }
    form.reset();
    tell(recorded);
    await refresh().catch(() => { refuse(`${recorded} What it changes can't be shown: load this page anew.`); });
}

document.addEventListener("submit", async (submitted) => {
    const form = submitted.target;
    if (!form.matches("form[data-record]")) return;
    submitted.preventDefault();
    if (form.dataset.busy) return;
    form.dataset.busy = "yes";
    refused.textContent = "";
    try {
        await submit(form);
    } catch (failed) {
        refuse(failed.message);
    } finally {
        delete form.dataset.busy;
    }
});

// A gauge ends each number with Enter: in a field it leads to the next, and only a press hands a form in.
document.addEventListener("keydown", (press) => {
    if (press.key !== "Enter" || !press.target.matches("form[data-record] input, dialog.who input")) return;
    press.preventDefault();
    const all = Array.from(press.target.form.querySelectorAll("input:not([type=hidden]), select, textarea, button"));
    all[all.indexOf(press.target) + 1]?.focus();
});

document.addEventListener("input", (changed) => {
    const form = changed.target.closest("form[data-record]");
    if (form) {
        form.dataset.touched = "yes";
        if (unsettled.has(form)) form.dataset.changed = "yes";
    }
    const shown = changed.target.closest("[data-shown-by]");
    if (shown) show(shown);
});

// Parts of a form that matter only for some answers.
function show(choice) {
    const name = choice.dataset.shownBy;
    const chosen = new FormData(choice.closest("form")).get(name);
    for (const part of document.querySelectorAll(`[data-shown-for^="${CSS.escape(name)}="]`)) {
        part.hidden = !part.dataset.shownFor.slice(name.length + 1).split(" ").includes(chosen);
    }
}

document.querySelectorAll("[data-shown-by]").forEach(show);

// What is told lies over the page: a touch puts it away, and reaches nothing below it.
for (const notice of [said, refused]) notice.addEventListener("click", () => { notice.textContent = ""; });

// On a device that is dark of itself the other way is bright.
const other = document.querySelector("button[name=theme]");
if (document.documentElement.dataset.theme === "device" && matchMedia("(prefers-color-scheme: dark)").matches) {
    other.value = "bright";
    other.textContent = "Bright";
}

// Where nobody answers the page is still made bright or dark; more can't be told to a device.
document.addEventListener("submit", (submitted) => {
    const form = submitted.target;
    if (form.getAttribute("action") !== "/device" || isNow()) return;
    submitted.preventDefault();
    const pressed = submitted.submitter;
    if (pressed?.name !== "theme") {
        refuse("Not connected: this device is told so when the workshop's computer answers.");
        return;
    }
    document.documentElement.dataset.theme = pressed.value;
    const to = pressed.value === "dark" ? "bright" : "dark";
    pressed.value = to;
    pressed.textContent = to === "dark" ? "Dark" : "Bright";
});

// A file is read into the field that it stands for, by choosing it or by dropping it there.
async function readInto(field, file) {
    if (file) field.value = await file.text();
}

// A photograph that is not there yet is on its way from a device: it shows when it has come.
function isMissing(picture) {
    return picture.complete && picture.naturalWidth === 0 && picture.getAttribute("src") !== null;
}

function lookAgain() {
    document.querySelectorAll("img[src*='/photographs/']").forEach((picture) => { if (isMissing(picture)) picture.src = picture.getAttribute("src"); });
}

document.addEventListener("refreshed", lookAgain);
document.addEventListener("photograph", lookAgain);

// How many events were new, and how many here already. Of events that waited on a device that is not told.
function newOf({ events, new: added }) {
    if (added === undefined) return "What is not refused is here.";
    const before = events - added;
    return `${added} ${added === 1 ? "event is" : "events are"} new, and ${before} ${before === 1 ? "was" : "were"} here already.`;
}

// A record from elsewhere becomes a job here. Where all of it is here and something is new, the job is shown; else it is said first what became of it.
async function bringIn(address, file) {
    try {
        const told = await asked(address, { body: file }, PATIENCE_LONG);
        const job = `/jobs/${told.job}`;
        const isWhole = !(told.refused > 0 || told.left_out > 0);
        if (isWhole && told.new !== 0) {
            location.assign(job);
            return;
        }
        if (told.refused > 0) refuse(`${told.refused} of its events ${told.refused === 1 ? "is" : "are"} not here: this workshop's record says something else under their ids.`);
        const leftOut = told.left_out > 0 ? ` ${told.left_out} ${told.left_out === 1 ? "sheet that was erased here was" : "sheets that were erased here were"} left out.` : "";
        tellOf(`${newOf(told)}${leftOut}`, job, "Look at the job");
    } catch (failed) {
        refuse(failed.message);
    }
}

document.addEventListener("change", (chosen) => {
    const { into, bring } = chosen.target.dataset;
    if (into) readInto(document.getElementById(into), chosen.target.files[0]);
    if (bring && chosen.target.files[0]) bringIn(bring, chosen.target.files[0]);
});

document.addEventListener("dragover", (over) => { if (document.querySelector("[data-into]")) over.preventDefault(); });

document.addEventListener("drop", (dropped) => {
    const input = document.querySelector("[data-into]");
    if (!input || dropped.dataTransfer.files.length === 0) return;
    dropped.preventDefault();
    readInto(document.getElementById(input.dataset.into), dropped.dataTransfer.files[0]);
});

// What is shown once, like a code or a link, is gone from a page that was left: whoever goes back to it finds nothing.
addEventListener("pagehide", () => { document.querySelectorAll("[data-once]").forEach((shown) => shown.replaceChildren()); });

// A panel in the vehicle's picture leads to its page; the list below it does the same for keys.
document.addEventListener("click", (click) => {
    const panel = click.target.closest(".vehicle [data-panel]");
    if (!panel) return;
    const { to, panels } = panel.closest(".vehicle").dataset;
    const name = JSON.parse(panels)[Number(panel.dataset.panel)];
    if (name) location.assign(to + encodeURIComponent(name));
});
