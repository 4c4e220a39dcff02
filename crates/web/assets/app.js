// Forms become events; what others record shows without being asked for.

import { event, handIn, keepSheet, newId, someoneIsHere } from "/assets/record.js";

const said = document.getElementById("said");
const refused = document.getElementById("refused");

export function tell(words) {
    refused.textContent = "";
    said.textContent = words;
}

export function refuse(words) {
    said.textContent = "";
    refused.textContent = words;
}

// A control's value as an event has it: text as it was typed, nothing where nothing was.
function value(control) {
    if (control.type === "checkbox") {
        if (control.dataset.off !== undefined) return control.checked ? undefined : JSON.parse(control.dataset.off);
        return control.checked ? true : undefined;
    }
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

// What stands in one part of a form: its own controls, and not those of a part within it.
function controls(part, selector) {
    const all = part.querySelectorAll("input[name], select[name], textarea[name]");
    return Array.from(all).filter((control) => control.closest(selector) === part && !control.disabled);
}

// Drops films of which only the unit is there.
function withoutEmpty(body) {
    for (const [key, inner] of Object.entries(body)) {
        if (inner && typeof inner === "object" && !Array.isArray(inner)) {
            withoutEmpty(inner);
            const keys = Object.keys(inner);
            if (keys.length === 0 || (keys.length === 1 && keys[0] === "unit")) delete body[key];
        }
        if (Array.isArray(inner)) {
            body[key] = inner.filter((one) => !(one && typeof one === "object" && !Array.isArray(one) && one.number === undefined && one.unit !== undefined));
            if (body[key].length === 0) delete body[key];
        }
    }
}

// The event that a part of a form says; none where it may be left empty and is.
async function saidBy(part) {
    if (part.dataset.body) return JSON.parse(part.dataset.body);
    const body = {};
    for (const control of controls(part, "[data-event], [data-sheet]")) {
        const given = value(control);
        if (given !== undefined) put(body, control.name, given);
    }
    for (const sheet of part.querySelectorAll("[data-sheet]")) {
        const filled = Object.fromEntries(controls(sheet, "[data-sheet]").map((control) => [control.name, value(control)]).filter(([, given]) => given !== undefined));
        if (Object.keys(filled).length > 0) put(body, sheet.dataset.sheet, await keepSheet(filled));
    }
    withoutEmpty(body);
    if (part.dataset.optional !== undefined && Object.keys(body).length === 0) return null;
    return { kind: part.dataset.event, ...body };
}

async function submit(form) {
    if (!(await someoneIsHere())) return;
    const job = document.body.dataset.job ?? newId();
    const parts = [form, ...form.querySelectorAll("[data-event]")].filter((part) => part.dataset.event !== undefined);
    const bodies = [];
    for (const part of parts) {
        const body = await saidBy(part);
        if (body) bodies.push(body);
    }
    await handIn(job, bodies.map((body) => event(job, body)));
    delete form.dataset.touched;
    if (form.dataset.then) {
        location.assign(form.dataset.then.replace("{job}", job));
        return;
    }
    form.reset();
    await refresh();
    tell(form.dataset.said ?? "Recorded.");
}

document.addEventListener("submit", async (submitted) => {
    const form = submitted.target;
    if (!form.matches("form[data-record]")) return;
    submitted.preventDefault();
    if (form.dataset.busy) return;
    form.dataset.busy = "yes";
    try {
        await submit(form);
    } catch (failed) {
        refuse(failed.message);
    } finally {
        delete form.dataset.busy;
    }
});

document.addEventListener("input", (changed) => {
    const form = changed.target.closest("form[data-record]");
    if (form) form.dataset.touched = "yes";
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

// Takes what has changed from the page as it is now; what somebody is typing into stays.
export async function refresh() {
    const answer = await fetch(location.href, { headers: { accept: "text/html" } });
    if (!answer.ok) return;
    const fresh = new DOMParser().parseFromString(await answer.text(), "text/html");
    for (const old of document.querySelectorAll("[data-live]")) {
        const made = fresh.getElementById(old.id);
        if (!made || old.querySelector("form[data-touched]") || old.outerHTML === made.outerHTML) continue;
        const held = old.contains(document.activeElement) ? document.activeElement.id : null;
        const open = Array.from(old.querySelectorAll("details[open][id]"), (details) => details.id);
        old.replaceWith(made);
        open.forEach((id) => { const details = document.getElementById(id); if (details) details.open = true; });
        if (held) document.getElementById(held)?.focus({ preventScroll: true });
    }
    document.dispatchEvent(new Event("refreshed"));
}

if (document.body.dataset.job && document.querySelector("[data-live]")) {
    const changes = new EventSource(`/jobs/${document.body.dataset.job}/changes`);
    let asked = null;
    changes.addEventListener("change", () => {
        // Several in a row are answered once.
        clearTimeout(asked);
        asked = setTimeout(() => { refresh().catch(() => {}); }, 50);
    });
    addEventListener("pagehide", () => changes.close());
}
