// Whose the page is: theirs for whom it was made, until another person signs in on the device, here or on another page. Then it is made anew for them; where
// something is half typed it says so at its top, and neither shows nor records anything more before somebody says how it goes on.

const { body } = document;
// Pages of the door are nobody's.
let madeFor = body.dataset.who;
let other = null;

// Who signed in last on this device: a page that was kept before that bears another name.
const SIGNED_IN = "signed-in";

// At which address a page was made anew last of itself, and for whom.
const MADE_ANEW = "made-anew";

// Whether a field is other than the page has it.
function isChanged(field) {
    if (field.type === "checkbox" || field.type === "radio") return field.checked !== field.defaultChecked;
    if (field.type === "file") return field.files.length > 0;
    if (field.options) {
        const all = Array.from(field.options);
        return (field.selectedOptions[0] ?? null) !== (all.findLast((one) => one.defaultSelected) ?? all.find((one) => !one.disabled) ?? null);
    }
    return field.defaultValue !== undefined && field.value !== field.defaultValue;
}

const isFilledIn = (form) => Array.from(form.elements).some(isChanged);

// What would be lost with the page: forms that somebody began, and what an answer shows of what was handed in and is not recorded yet.
const halfDone = [
    () => document.querySelector("form[data-touched], form[data-busy], [data-half-done]") !== null,
    () => Array.from(document.querySelectorAll("main form:not([method=dialog])")).some(isFilledIn),
];

// Says of something beside forms whether it is half done.
export function isHalfDoneWhile(so) {
    halfDone.push(so);
}

// Whether another person is signed in than the one for whom the page was made.
export const isAnothers = () => other !== null;

// What is said where something is to be recorded then.
export const notRecorded = () => `${other} has signed in on this device since this page was made: nothing was recorded. Its top says how to go on.`;

function remember(who) {
    try { localStorage.setItem(SIGNED_IN, who); } catch { /* then a page that was kept says who it was kept for */ }
}

// What is recorded from here is recorded under this name.
export function isNow(who) {
    body.dataset.who = who;
    const here = document.getElementById("here");
    if (here) here.textContent = who;
    remember(who);
}

// Who is at the device, as far as this page knows: of a page that was kept, whoever signed in since.
export function known() {
    const { who, kept } = body.dataset;
    try { return (kept !== undefined && localStorage.getItem(SIGNED_IN)) || who; } catch { return who; }
}

const here = () => location.pathname + location.search;

// Without what a form handed in, of which the page may have been the answer.
function makeAnew() {
    location.replace(here());
}

const asNoted = (who) => JSON.stringify([who, here()]);

function wasMadeAnew(who) {
    try { return sessionStorage.getItem(MADE_ANEW) === asNoted(who); } catch { return body.dataset.kept !== undefined; }
}

// Makes the page anew for somebody, once: where the workshop's computer is slow, what comes may be the page again that was kept for the one before, without end.
function makeAnewOnce(who) {
    if (wasMadeAnew(who)) return;
    try { sessionStorage.setItem(MADE_ANEW, asNoted(who)); } catch { if (body.dataset.kept !== undefined) return; }
    makeAnew();
}

// The page is theirs: another time it may be made anew for them.
function isTheirs(who) {
    try { if (wasMadeAnew(who)) sessionStorage.removeItem(MADE_ANEW); } catch { /* nothing was noted */ }
}

// Requests and sign-ins, as they begin. Who an answer names is who was signed in when it was asked for: one that was asked for before the last sign-in, or before
// what was heeded last, says nothing of now.
let begun = 0;
let newest = 0;

// Numbers a request that begins.
export function begins() {
    begun += 1;
    return begun;
}

function isSignedIn() {
    newest = begins();
}

function goOn() {
    isSignedIn();
    madeFor = other;
    other = null;
    show();
    isNow(madeFor);
    document.dispatchEvent(new Event("handed-on"));
}

function button(words, of, press) {
    const pressed = document.createElement("button");
    pressed.type = "button";
    pressed.className = of;
    pressed.textContent = words;
    pressed.addEventListener("click", press);
    return pressed;
}

function show() {
    document.getElementById("handed")?.remove();
    if (other === null) return;
    const told = document.createElement("section");
    told.id = "handed";
    told.className = "handed";
    told.setAttribute("role", "alert");
    const words = document.createElement("p");
    const name = document.createElement("strong");
    name.textContent = `${other} has signed in on this device`;
    const how = wasMadeAnew(other)
        ? "It was loaded anew, and came again as it was kept: the workshop's computer takes long to answer. Make it anew later, or go on with it."
        : "Write down what is half typed and make it anew, or go on with it.";
    words.append(name, ` since this page was made${madeFor ? ` for ${madeFor}` : ""}: it stays as it was, and records nothing. ${how}`);
    const row = document.createElement("div");
    row.className = "row";
    row.append(button("Make the page anew", "primary", makeAnew), button(`Go on as ${other}`, "second", goOn));
    told.append(words, row);
    document.getElementById("main").prepend(told);
}

function isFor(who) {
    if (madeFor === undefined) return;
    const isOther = who !== madeFor;
    if (!isOther) isTheirs(who);
    const isNews = (isOther ? who : null) !== other;
    other = isOther ? who : null;
    if (isNews) show();
    if (isOther && !halfDone.some((so) => so())) makeAnewOnce(who);
}

// Takes from an answer who it was given to; `at` is the number of its request.
export function heed(answer, at) {
    const who = answer.headers.get("x-who");
    if (who === null || at < newest) return;
    newest = at;
    isFor(decodeURIComponent(who));
}

// Somebody has signed in on this very page.
export function signedIn(who) {
    isSignedIn();
    remember(who);
    if (madeFor === undefined || who === madeFor) isNow(who);
    isFor(who);
}

// Calls when somebody has signed in on another page of this browser.
export function onSignIn(heard) {
    addEventListener("storage", ({ key }) => {
        if (key !== SIGNED_IN) return;
        isSignedIn();
        heard();
    });
}

if (madeFor !== undefined) isTheirs(madeFor);
