// What others record shows without being asked for; what somebody is typing into stays.

// How long an answer is waited for, ms.
const PATIENCE = 10000;
// Changes that come within as long of the first are shown at once, ms.
const TOGETHER = 50;
// How long a line may be gone before it is said, ms.
const GONE = 2000;

let address = () => location.href;
let running = false;
let waiting = [];

// From now on the page is asked for at this address: where a device holds something fast that its own address doesn't say.
export function refreshFrom(of) {
    address = of;
}

// Each part as it was made: what somebody opened in it, or what was drawn upon it, makes it no other.
const asMade = new WeakMap();
document.querySelectorAll("[data-live]").forEach((part) => asMade.set(part, part.outerHTML));

function put(old, made) {
    asMade.set(made, made.outerHTML);
    const held = old.contains(document.activeElement) ? document.activeElement.id : null;
    const open = Array.from(old.querySelectorAll("details[open][id]"), (details) => details.id);
    old.replaceWith(made);
    open.forEach((id) => { const details = document.getElementById(id); if (details) details.open = true; });
    if (held) document.getElementById(held)?.focus({ preventScroll: true });
}

async function once() {
    const answer = await fetch(address(), { headers: { accept: "text/html" }, signal: AbortSignal.timeout(PATIENCE) });
    // What this page is about is no longer there, or was made anew: nothing on it may be pressed as if it were.
    if (answer.redirected || answer.status === 404) { location.assign(answer.url); return; }
    if (!answer.ok) throw new Error("The workshop's computer could not make this page anew.");
    const fresh = new DOMParser().parseFromString(await answer.text(), "text/html");
    for (const old of document.querySelectorAll("[data-live]")) {
        const made = fresh.getElementById(old.id);
        if (!made || old.querySelector("form[data-touched]") || asMade.get(old) === made.outerHTML) continue;
        put(old, made);
    }
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

const line = document.getElementById("line");
let changes = null;
let asked = null;
let gone = null;

function soon() {
    asked ??= setTimeout(() => { asked = null; refresh().catch(() => {}); }, TOGETHER);
}

function listen() {
    if (changes) return;
    changes = new EventSource(`/jobs/${document.body.dataset.job}/changes`);
    changes.addEventListener("open", () => {
        clearTimeout(gone);
        gone = null;
        line.textContent = "";
        // What came while nobody listened.
        soon();
    });
    changes.addEventListener("change", soon);
    changes.addEventListener("error", () => {
        gone ??= setTimeout(() => { line.textContent = "Not connected: what is shown may have changed."; }, GONE);
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
