// Asks for a PIN where the device is locked. What was typed stays where it is, under it; what was about to be sent waits, and is sent then.

import { parsed } from "/assets/trusted.js";
import { begins, heed, isNow, known, onSignIn, signedIn } from "/assets/whose.js";

const LOCKED = 423;

// What the page asks for of itself bears this header: nobody touched the device for it.
export const UNASKED = { "x-unasked": "1" };

// How often it is said that somebody touches the device; after how long without a touch it is asked whether it has locked, and how often then: ms.
const SAID = 60000;
const IDLE = 15 * 60000;
const ASKED = 30000;

function wire(pad, opened) {
    const secret = pad.querySelector("#pad-secret");
    const wrong = pad.querySelector(".wrong");
    pad.addEventListener("click", (click) => {
        const key = click.target.closest("[data-digit]");
        if (!key) return;
        secret.value = key.dataset.digit === "" ? secret.value.slice(0, -1) : secret.value + key.dataset.digit;
        wrong.hidden = true;
    });
    pad.addEventListener("submit", async (submitted) => {
        submitted.preventDefault();
        if (pad.dataset.busy) return;
        pad.dataset.busy = "yes";
        const refuse = (words) => { wrong.textContent = words; wrong.hidden = false; };
        try {
            const answer = await fetch("/lock", { method: "POST", body: new URLSearchParams(new FormData(pad)) });
            const said = await answer.json();
            secret.value = "";
            if (answer.ok) opened(said.who);
            else refuse(said.detail);
        } catch {
            refuse("The workshop's computer does not answer: try again. Is this device on its network?");
        } finally {
            delete pad.dataset.busy;
        }
    });
}

let open = null;

// Shows the pad over the page, once whoever asks for it, and is done when somebody has signed in: true then.
function asksForPin() {
    open ??= (async () => {
        const page = await fetch("/lock", { headers: { accept: "text/html", ...UNASKED } });
        const pad = parsed(await page.text()).getElementById("pad");
        // Unknown by now: there is nobody to ask.
        if (!pad) return false;
        const dialog = document.createElement("dialog");
        dialog.className = "who over";
        dialog.setAttribute("aria-labelledby", "pad-asked");
        dialog.append(document.adoptNode(pad));
        document.body.append(dialog);
        // Nothing below is touched or read, and no key puts it away.
        dialog.addEventListener("cancel", (cancelled) => cancelled.preventDefault());
        dialog.addEventListener("keydown", (press) => press.stopPropagation());
        const who = await new Promise((opened) => {
            wire(pad, opened);
            dialog.showModal();
        });
        dialog.remove();
        signedIn(who);
        return true;
    })().finally(() => { open = null; });
    return open;
}

// Asks by `ask`, and again when somebody has signed in where the device is locked. What was asked may be asked twice.
export async function unlocked(ask) {
    let at = begins();
    let answer = await ask();
    while (answer.status === LOCKED && await asksForPin()) {
        at = begins();
        answer = await ask();
    }
    heed(answer, at);
    if (answer.headers.get("x-lastmicron") !== null) document.dispatchEvent(new Event("answered"));
    return answer;
}

// Asks, of itself, who is signed in on this device, or whether it is locked.
function asksWhose() {
    if (!open) unlocked(() => fetch("/lock/here", { method: "POST", headers: UNASKED })).catch(() => {});
}

let touched = Date.now();
let said = touched;

function touch() {
    touched = Date.now();
    if (open || touched - said < SAID) return;
    said = touched;
    unlocked(() => fetch("/lock/here", { method: "POST" })).catch(() => {});
}

// A device that nobody touches hides what it shows, as soon as the workshop's computer says that it has locked.
function asks() {
    if (Date.now() - touched >= IDLE) asksWhose();
}

if (document.body.dataset.known !== undefined) {
    isNow(known());
    for (const kind of ["pointerdown", "keydown"]) document.addEventListener(kind, touch, { passive: true });
    setInterval(asks, ASKED);
}
// A page that was made before anybody had claimed the app is theirs from then on, too.
if (document.body.dataset.who !== undefined) {
    onSignIn(asksWhose);
    addEventListener("online", asksWhose);
    document.addEventListener("visibilitychange", () => { if (!document.hidden) asksWhose(); });
}

// A page that is nothing but the pad goes on to what was asked for.
const alone = document.querySelector("main > #pad");
if (alone) wire(alone, (who) => { isNow(who); if (location.pathname === "/lock") location.assign("/"); else location.reload(); });
