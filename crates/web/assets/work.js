// A clock, only where somebody opens it; and the work where nobody answers: what is done next on the section is there to be recorded, though the page stays as it was.

import { all } from "/assets/outbox.js";
import { notAsMade } from "/assets/live.js";

function show() {
    const clock = document.getElementById("clock");
    if (!clock?.open || !clock.dataset.since) return;
    const seconds = Math.max(0, Math.floor((Date.now() - Date.parse(clock.dataset.since)) / 1000));
    const two = (n) => String(n).padStart(2, "0");
    document.getElementById("elapsed").textContent = `${Math.floor(seconds / 60)}:${two(seconds % 60)}`;
}

setInterval(show, 1000);
document.addEventListener("toggle", show, true);

const WORK = ["work-started", "set-done", "work-done", "work-stopped"];

// Whether an event is of the section that the page shows.
function isOf(body, section) {
    const same = (one) => one !== undefined && Object.keys(section).every((name) => String(one[name]) === section[name]);
    return same(body.section) || (body.sections ?? []).some(same);
}

// The section that a form says unseen.
function sectionIn(part) {
    const said = Array.from(part.querySelectorAll("input[name^='section.']"), (input) => [input.name.slice("section.".length), input.value]);
    return Object.fromEntries(said);
}

// What was recorded here of the section in hand and waits on this device.
async function waitingOf(section) {
    const { rows } = await all().catch(() => ({ rows: [] }));
    const here = rows.filter((row) => row.job === document.body.dataset.job && row.state !== "aside" && WORK.includes(row.kind));
    return here.map((row) => JSON.parse(row.bytes).body).filter((body) => isOf(body, section));
}

async function alone() {
    const away = document.getElementById("away");
    if (!away) return;
    const waiting = await waitingOf(sectionIn(away.content));
    const doing = away.parentElement;
    if (waiting.length === 0) return;
    doing.querySelectorAll("#act, #alone").forEach((old) => (old.closest("form") ?? old).remove());
    const part = document.createElement("div");
    part.id = "alone";
    const told = document.createElement("p");
    told.textContent = `Recorded on this device and not sent yet: ${waiting.map((body) => `${body.kind.replace("-", " ")}${body.process && body.kind === "set-done" ? ` (${body.process})` : ""}`).join(", ")}.`;
    part.append(told, away.content.cloneNode(true));
    away.before(part);
    notAsMade(doing);
}

document.addEventListener("waiting", alone);
alone();
