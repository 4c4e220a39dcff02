// Whose the page is: theirs for whom it was made, until another person signs in on the device, here or on another page. Then it is made anew for them; where
// something is half typed it says so at its top, and neither shows nor records anything more before somebody says how it goes on.

const { body } = document;
// Pages of the door are nobody's.
let madeFor = body.dataset.who;
let other = null;

// Who signed in last on this device: a page that was kept before that bears another name.
const SIGNED_IN = "signed-in";

// What would be lost with the page.
const halfDone = [() => document.querySelector("form[data-touched], form[data-busy]") !== null];

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

// Without what a form handed in, of which the page may have been the answer.
function makeAnew() {
    location.replace(location.pathname + location.search);
}

function goOn() {
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
    words.append(name, ` since this page was made${madeFor ? ` for ${madeFor}` : ""}: it stays as it was, and records nothing. Write down what is half typed and make it anew, or go on with it.`);
    const row = document.createElement("div");
    row.className = "row";
    row.append(button("Make the page anew", "primary", makeAnew), button(`Go on as ${other}`, "second", goOn));
    told.append(words, row);
    document.getElementById("main").prepend(told);
}

function isFor(who) {
    if (madeFor === undefined || (who === madeFor && other === null)) return;
    const isOther = who !== madeFor;
    const isNews = (isOther ? who : null) !== other;
    other = isOther ? who : null;
    if (isNews) show();
    if (isOther && !halfDone.some((so) => so())) makeAnew();
}

// Takes from an answer who it was given to.
export function heed(answer) {
    const who = answer.headers.get("x-who");
    if (who !== null) isFor(decodeURIComponent(who));
}

// Somebody has signed in on this very page.
export function signedIn(who) {
    remember(who);
    if (madeFor === undefined || who === madeFor) isNow(who);
    isFor(who);
}

// Calls when somebody has signed in on another page of this browser.
export function onSignIn(heard) {
    addEventListener("storage", ({ key }) => { if (key === SIGNED_IN) heard(); });
}
