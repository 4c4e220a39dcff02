// What others record shows without being asked for; what somebody is typing into stays.

import { isAnswered, isAsItIs, isAsItWas, isNotMadeAnew } from "/assets/standing.js";
import { UNASKED, unlocked } from "/assets/lock.js";
import { parsed } from "/assets/trusted.js";
import { isAnothers } from "/assets/whose.js";

// How long an answer is waited for, ms: a plan from all its films may take some seconds.
const PATIENCE = 30000;
// Changes that come within as long of the first are shown at once, ms.
const TOGETHER = 50;
// A page that changes unasked rests for as many times as long as it took before it is asked for again: where much comes at once, most of the line and of the
// workshop's computer is for what comes. At most for as long, ms: a page that took long once is not left old for minutes.
const REST = 3;
const LONGEST_REST = 10000;
// How long a line may be gone before it is said, and after how long it is tried anew, ms.
const GONE = 2000;
// A part that was put in less long ago takes no press: the finger was on its way to what stood there before, ms.
const FRESH = 700;

const line = document.getElementById("line");
let address = () => location.href;
let running = false;
let waiting = [];

// From now on the page is asked for at this address: where a device holds something fast that its own address doesn't say.
export function refreshFrom(of) {
    address = of;
}

// Each part as it was made: what somebody opened in it, or what was drawn upon it, makes it no other.
const asMade = new WeakMap();
// Parts that took older forms with them, since somebody was typing into these.
const withOlder = new WeakSet();
document.querySelectorAll("[data-live]").forEach((part) => asMade.set(part, part.outerHTML));

// What a script has put into a part itself is taken out with the next page, whatever that holds.
export function notAsMade(part) {
    asMade.delete(part);
}

// What a form is about: its event, the thing that it states anew, whether it settles what was said of that, and what it says unseen.
function about(form) {
    const { name, spot } = JSON.parse(form.dataset.base ?? "{}");
    const unseen = Array.from(form.querySelectorAll("input[type=hidden]"), (input) => [input.name, input.value]);
    return JSON.stringify([form.dataset.event, name, spot, form.dataset.settles, unseen]);
}

// What is only proposed in a form follows the page until somebody types another.
function follow(form, fresh) {
    for (const field of form.querySelectorAll("[data-proposed]")) {
        const { value } = fresh.elements[field.name];
        if (field.value === field.defaultValue) field.value = value;
        field.defaultValue = value;
    }
}

// Puts a part in place of an older one. Forms that somebody types into go with it; where one of them has no place in it any more, the old part stays.
function put(old, made) {
    const source = made.outerHTML;
    const wasIn = old.contains(document.activeElement);
    const held = wasIn ? document.activeElement.id : "";
    const open = Array.from(old.querySelectorAll("details[open][id]"), (details) => details.id);
    const forms = Array.from(made.querySelectorAll("form"));
    const pairs = Array.from(old.querySelectorAll("form[data-touched]"), (form) => [form, forms.find((one) => about(one) === about(form))]);
    if (pairs.some(([, fresh]) => fresh === undefined)) return;
    pairs.forEach(([form, fresh]) => { follow(form, fresh); fresh.replaceWith(form); });
    old.replaceWith(made);
    asMade.set(made, source);
    if (pairs.length > 0) withOlder.add(made);
    open.forEach((id) => { const details = document.getElementById(id); if (details) details.open = true; });
    // Keys go on from where they were: what was pressed may be there no more.
    if (wasIn) {
        const target = (held && document.getElementById(held)) || made;
        if (target === made) made.tabIndex = -1;
        target.focus({ preventScroll: true });
    }
    made.dataset.fresh = "yes";
    setTimeout(() => { delete made.dataset.fresh; }, FRESH);
}

// What is pressed in a part that has just become another was meant for what stood there.
document.addEventListener("click", (click) => {
    if (!click.target.closest("[data-fresh] form button")) return;
    click.preventDefault();
    click.stopPropagation();
    line.textContent = "This has just changed: look, and press again.";
    setTimeout(() => { if (line.textContent.startsWith("This has just")) line.textContent = ""; }, GONE);
}, true);

// What this page was about is gone, or was made anew. Nobody is taken away from what they are typing.
function leave(to) {
    if (!document.querySelector("form[data-touched]")) { location.assign(to); return; }
    const link = document.createElement("a");
    link.href = to;
    link.textContent = "Go to what holds now";
    line.replaceChildren("What this page is about has changed: copy what you were typing. ", link);
}

// Whether a part has forms in it that are older than it is, and nobody types into one any more.
function isSettled(part) {
    return withOlder.has(part) && part.querySelector("form[data-touched]") === null;
}

// The workshop's computer answers, and does not give the page.
class NotMade extends Error {}

async function once() {
    const answer = await unlocked(() => fetch(address(), { headers: { accept: "text/html", ...UNASKED }, signal: AbortSignal.timeout(PATIENCE) }));
    if (answer.headers.get("x-lastmicron") === null) throw new Error("Somebody else answers in place of the workshop's computer.");
    // What another person may see is not put into a page that was made for this one.
    if (isAnothers()) return;
    if (answer.redirected || answer.status === 401 || answer.status === 404) { leave(answer.url); return; }
    if (!answer.ok) throw new NotMade("The workshop's computer could not make this page anew.");
    const fresh = parsed(await answer.text());
    const parts = Array.from(document.querySelectorAll("[data-live]"));
    if (parts.some((old) => fresh.getElementById(old.id) === null)) { leave(location.href); return; }
    for (const old of parts) {
        const made = fresh.getElementById(old.id);
        if (isSettled(old) || asMade.get(old) !== made.outerHTML) put(old, made);
    }
    isAsItIs();
    document.dispatchEvent(new Event("refreshed"));
}

async function run() {
    if (running) return;
    running = true;
    while (waiting.length > 0) {
        const served = waiting;
        waiting = [];
        try {
            await once();
            served.forEach(({ done }) => done());
        } catch (failed) {
            served.forEach(({ fail }) => fail(failed));
        }
    }
    running = false;
}

// Takes what has changed from the page as it is now. One page is asked for after the other, so that the last put in is the newest; whoever asks is
// served by the first that was asked for after them.
export function refresh() {
    return new Promise((done, fail) => {
        waiting.push({ done, fail });
        run();
    });
}

document.addEventListener("handed-on", () => { refresh().catch(() => {}); });

let changes = null;
let asked = null;
// Whether the page is asked for as soon as the rest is over.
let isNext = false;
let gone = null;
let rested = Promise.resolve();
let endRest = () => {};
// When something was last heard on the line.
let heard = 0;

// Nobody answers: where it stays so, that is said.
function isGone() {
    gone ??= setTimeout(() => { gone = null; isAsItWas(); }, GONE);
}

function isThere() {
    clearTimeout(gone);
    gone = null;
    isAnswered();
}

// However long the workshop's computer takes over a page: where it is heard on the line meanwhile, it is there.
function isNotMade(failed, began) {
    if (failed instanceof NotMade) {
        isThere();
        isNotMadeAnew();
    } else if (heard < began) isGone();
    soon(GONE);
}

async function show() {
    const began = performance.now();
    const opened = new Promise((done) => { endRest = done; });
    try {
        await refresh();
    } catch (failed) {
        isNotMade(failed, began);
        return;
    }
    isThere();
    document.dispatchEvent(new Event("connected"));
    const rest = Math.min(REST * (performance.now() - began), LONGEST_REST);
    await Promise.race([opened, new Promise((done) => { setTimeout(done, rest); })]);
}

// What comes before the rest is over is shown at its end.
function soon(after = TOGETHER) {
    if (isNext) return;
    asked ??= setTimeout(async () => {
        asked = null;
        isNext = true;
        await rested;
        isNext = false;
        rested = show();
    }, after);
}

function hear() {
    heard = performance.now();
}

// What came while there was no line was told to nobody: that waits neither for a rest nor for the next try.
function isOpen() {
    hear();
    isThere();
    endRest();
    clearTimeout(asked);
    asked = null;
    soon();
}

function listen() {
    if (changes) return;
    isGone();
    changes = new EventSource(`/jobs/${document.body.dataset.job}/changes`);
    changes.addEventListener("open", isOpen);
    changes.addEventListener("alive", hear);
    changes.addEventListener("change", () => { hear(); soon(); });
    changes.addEventListener("error", () => {
        isGone();
        // A browser that gives up for good is asked again.
        if (changes?.readyState === EventSource.CLOSED) { stop(); setTimeout(listenWhereSeen, GONE); }
    });
}

function stop() {
    changes?.close();
    changes = null;
}

// A page that nobody sees needs no line: phones in pockets would hold all there are.
function listenWhereSeen() {
    if (document.hidden) stop();
    else listen();
}

if (document.body.dataset.job && document.querySelector("[data-live]")) {
    listenWhereSeen();
    document.addEventListener("visibilitychange", listenWhereSeen);
    addEventListener("pagehide", stop);
    addEventListener("pageshow", listenWhereSeen);
}
