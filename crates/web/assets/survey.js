// A number typed, tapped, or sent by a gauge that acts as a keyboard, anywhere on the page.

import { NoAnswer, NotKnown, asked as askedOf, event, handIn, someoneIsHere } from "/assets/record.js";
import { all } from "/assets/outbox.js";
import { isAway } from "/assets/send.js";
import { notAsMade, refresh, refreshFrom } from "/assets/live.js";
import { refuse, tell } from "/assets/app.js";
import { lay, lift, pointOf, tapped } from "/assets/map.js";
import { isAnothers, isHalfDoneWhile, notRecorded } from "/assets/whose.js";

const UM = { um: 1, mil: 25.4, mm: 1000 };
const MOST_KEYS = 16;
// How long it is waited for what is to be asked about a number, ms: at first, and where nobody answered before.
const PATIENCE = 6000;
const PATIENCE_AWAY = 1500;
const echo = document.getElementById("echo");
const unit = document.getElementById("unit");
const undercoat = document.getElementById("undercoat");
const called = document.getElementById("called");
const asked = document.getElementById("asked");

let typed = "";
let elsewhere = null;
// The place that was announced: the probe may be on it, so that only this device moves it.
let held = null;
// From Enter until it is known what became of the reading.
let taking = false;
// The reading of which it is not known whether it was recorded: the very event, and its words.
let unsettled = null;
// What comes while a reading is taken: whole texts, up to their Enter, are left out and told, never joined to the next.
let meanwhile = "";
let leftOut = [];

isHalfDoneWhile(() => typed !== "" || taking || unsettled !== null);

const place = () => document.getElementById("place");

function hold() {
    const { x, y } = place().dataset;
    held = x === undefined ? null : { x, y };
}

refreshFrom(() => location.pathname + (held ? `?x_mm=${held.x}&y_mm=${held.y}` : ""));

function show() {
    echo.textContent = meanwhile || typed;
    echo.classList.toggle("left-out", meanwhile !== "");
    echo.setAttribute("aria-busy", String(taking));
    // What is chosen for a reading holds from its Enter on.
    undercoat.disabled = taking;
    unit.disabled = taking;
    document.getElementById("echo-unit").textContent = unit.value;
}

function goElsewhere(at, words) {
    elsewhere = at;
    const told = document.getElementById("elsewhere");
    told.hidden = at === null;
    if (at === null) told.replaceChildren();
    else {
        const back = document.createElement("button");
        back.type = "button";
        back.className = "second";
        back.textContent = "Back to the place announced";
        back.addEventListener("click", () => { if (!taking) goElsewhere(null); });
        told.replaceChildren(`${words} ${at.x} mm across, ${at.y} mm up. `, back);
    }
    mark();
}

// The map is drawn anew as readings come: the mark of what is read elsewhere goes with it.
function mark() {
    lift();
    if (elsewhere === null) return;
    const { x, y } = pointOf(elsewhere);
    lay("circle", { cx: x, cy: y, r: 5 });
}

new MutationObserver(() => { if (elsewhere !== null && !document.querySelector("#map .elsewhere")) mark(); })
    .observe(document.querySelector(".survey"), { childList: true });

// The number and unit that were typed; the unit may stand behind the number.
function read() {
    const [, number, behind] = typed.match(/^([^a-zµμ]*)\s*([a-zµμ]*)$/i) ?? [null, typed, ""];
    const said = behind.replace(/[µμ]/, "u").toLowerCase();
    return { number: number.trim(), unit: said in UM ? said : unit.value, known: said === "" || said in UM };
}

// Whether the number is plain, and within what is to be expected at the place announced.
function isPlain({ number, unit: of, known }) {
    if (!known || !/^\d+(\.\d+)?$/.test(number)) return false;
    const { low, high, undercoatLow, undercoatHigh } = place().dataset;
    const um = Number(number) * UM[of];
    const [least, most] = undercoat.checked ? [undercoatLow, undercoatHigh] : [low, high];
    return um >= Number(least) && um <= Number(most);
}

// What is to be asked about a number. Where nobody answers, what is to be expected is known of the place announced only: a number within that is taken
// elsewhere too, and any other is the person's to confirm.
async function questionOf(film, at, isExpected) {
    const job = document.body.dataset.job;
    const { panel, session } = place().dataset;
    const about = { ...film, x_mm: at.x, y_mm: at.y, session, layer: undercoat.checked ? "undercoat" : "total" };
    try {
        return await askedOf(`/jobs/${job}/survey/${encodeURIComponent(panel)}/question`, { body: JSON.stringify(about) }, isAway() ? PATIENCE_AWAY : PATIENCE);
    } catch (failed) {
        if (!(failed instanceof NoAnswer)) throw failed;
        if (isExpected) return { taken: film };
        const isNumber = /^\d+(\.\d+)?$/.test(film.number);
        return isNumber
            ? { question: `${film.number} ${film.unit} is not what was to be expected at the place announced, and the workshop's computer is not there to say more.`, meant: [], taken: film }
            : { question: `${film.number} can't be read without the workshop's computer: only a plain number with a point can.`, meant: [] };
    }
}

async function ask(film, at, isExpected) {
    const told = await questionOf(film, at, isExpected);
    if (!told.question) return told.taken;
    asked.querySelector("#question").textContent = told.question;
    const choices = told.meant.map((meant) => {
        const choice = document.createElement("button");
        choice.className = "primary";
        choice.value = JSON.stringify(meant);
        choice.textContent = `It was ${meant.number} ${meant.unit}`;
        return choice;
    });
    asked.querySelector("#meant").replaceChildren(...choices);
    asked.querySelector("button[value=taken]").hidden = !told.taken;
    asked.returnValue = "";
    asked.showModal();
    // A gauge that goes on sending must confirm nothing.
    document.getElementById("not-taken").focus();
    await new Promise((closed) => { asked.addEventListener("close", closed, { once: true }); });
    if (asked.returnValue === "taken") return told.taken;
    return asked.returnValue ? JSON.parse(asked.returnValue) : null;
}

// The event that the number typed says, with its words; none where it is to be read again.
async function reading() {
    const wasKnown = document.body.dataset.who !== "";
    if (!(await someoneIsHere())) return null;
    // Whose session and gauge it is goes by who reads.
    if (!wasKnown) await refresh();
    const { panel, x, y, session, gauge } = place().dataset;
    const at = elsewhere ?? (x === undefined ? null : { x: Number(x), y: Number(y) });
    if (at === null) throw new Error("Mark the place on the map first.");
    // Where there is no topcoat is never the place that is announced for a reading of it.
    if (undercoat.checked && elsewhere === null) throw new Error("Mark on the map where there is no topcoat, or give it by its distances; then take it.");
    const said = read();
    const isExpected = isPlain(said);
    const as = { number: said.known ? said.number : typed, unit: said.unit };
    const film = isExpected && elsewhere === null ? as : await ask(as, at, isExpected);
    if (film === null) {
        typed = "";
        return null;
    }
    const body = { kind: "reading-taken", panel, x_mm: String(at.x), y_mm: String(at.y), value: film };
    if (undercoat.checked) body.layer = "undercoat";
    if (session) body.session = session;
    if (gauge) body.gauge = gauge;
    const job = document.body.dataset.job;
    return { job, event: event(job, body), words: `${film.number} ${film.unit} taken at ${at.x}, ${at.y} mm` };
}

// The old place must not be read again as if it were the next. What was read here last may be read once more.
function noPlace(last) {
    const at = place();
    delete at.dataset.x;
    delete at.dataset.y;
    const words = document.createElement("p");
    const next = document.createElement("strong");
    next.textContent = "Mark the next place on the map.";
    words.append(next, " Where a reading would help most is told when the workshop's computer answers.");
    const mark = document.createElement("span");
    mark.hidden = true;
    if (last) [mark.dataset.lastX, mark.dataset.lastY] = [last.x_mm, last.y_mm];
    at.replaceChildren(words, mark);
    notAsMade(at);
    held = null;
}

// What a reading that waits tells is not computed here: the place next is the person's to choose.
function goOnAlone({ words, event: { body } }, why) {
    goElsewhere(null);
    noPlace(body);
    tell(`${words}, and saved on this device.`);
    if (why) refuse(`The workshop's computer says: ${why}.`);
}

// Shows what the reading tells, and the next place.
async function goOn() {
    goElsewhere(null);
    held = null;
    try {
        await refresh();
        hold();
    } catch {
        noPlace();
        throw new Error("The reading is taken. What it tells, and where to read next, can't be shown: load this page anew, or mark the place on the map.");
    }
}

async function take() {
    if (typed.trim() === "" && unsettled === null) return;
    taking = true;
    show();
    const wasUnsettled = unsettled !== null;
    try {
        if (isAnothers()) throw new NotKnown(notRecorded());
        unsettled ??= await reading();
        if (unsettled === null) return;
        const handed = await handIn(unsettled.job, [unsettled.event]);
        const taken = unsettled;
        const { words } = taken;
        unsettled = null;
        typed = "";
        undercoat.checked = false;
        if (handed.waiting) {
            goOnAlone(taken, handed.why);
            return;
        }
        tell(words);
        await goOn();
        if (wasUnsettled) refuse(`${words}, and once only. Whatever was sent since was not: read it again.`);
    } catch (failed) {
        if (!(failed instanceof NotKnown)) unsettled = null;
        refuse(failed.message);
    } finally {
        taking = false;
        tellLeftOut();
        show();
    }
}

function tellLeftOut() {
    if (taking || leftOut.length === 0) return;
    refuse(`${leftOut.join(", ")} came while another was being taken, and was not taken: read it again.`);
    leftOut = [];
}

// A key that comes while a reading is taken, or that goes on with such a text.
function leaveOut(pressed) {
    if (pressed === "Enter") {
        if (meanwhile !== "") leftOut.push(meanwhile);
        meanwhile = "";
        tellLeftOut();
    } else if (pressed === "Escape") meanwhile = "";
    else if (pressed === "Backspace") meanwhile = meanwhile.slice(0, -1);
    else if (meanwhile.length < MOST_KEYS) meanwhile += pressed;
    show();
}

function key(pressed) {
    if (taking || meanwhile !== "" || (unsettled !== null && pressed !== "Enter")) {
        leaveOut(pressed);
        return;
    }
    if (pressed === "Enter") { take(); return; }
    if (pressed === "Backspace") typed = typed.slice(0, -1);
    else if (pressed === "Escape") typed = "";
    else if (typed.length < MOST_KEYS) typed += pressed;
    show();
}

// What a gauge sends while a question is open answers it with nothing: neither the number nor the unit behind it.
function leaveOutOfQuestion(press) {
    const isPart = /^[0-9.,-]$/.test(press.key) || (meanwhile !== "" && (press.key === "Enter" || press.key.length === 1));
    if (!isPart) return;
    press.preventDefault();
    leaveOut(press.key);
}

document.addEventListener("keydown", (press) => {
    if (press.ctrlKey || press.metaKey || press.altKey || document.getElementById("who").open) return;
    if (asked.open) { leaveOutOfQuestion(press); return; }
    if (press.target.closest("input:not([type=checkbox], [type=radio]), textarea")) return;
    const isStart = /^[0-9.,-]$/.test(press.key);
    const isMore = (typed !== "" || meanwhile !== "") && /^([a-zµμ ]|Backspace|Escape|Enter)$/i.test(press.key);
    if (!isStart && !isMore) return;
    press.preventDefault();
    key(press.key);
});

document.addEventListener("click", (click) => {
    const pressed = click.target.closest("[data-key]");
    if (pressed) key(pressed.dataset.key);
    const better = click.target.closest("#better");
    if (better && !taking) go({ x: better.dataset.x, y: better.dataset.y });
    const at = taking ? null : tapped(click);
    if (at) goElsewhere(at, "Read instead at");
});

// Holds another place fast; nothing is taken before the page says so.
async function go(to) {
    const before = held;
    taking = true;
    show();
    goElsewhere(null);
    held = to;
    try {
        await refresh();
    } catch {
        held = before;
        refuse("The workshop's computer does not answer: the place is still the one before.");
    } finally {
        taking = false;
        tellLeftOut();
        show();
    }
}

// Where no place was held, as before anything could be advised, the one that is shown now is.
document.addEventListener("refreshed", () => { if (held === null && !taking) hold(); });

document.getElementById("again").addEventListener("click", () => {
    if (taking) return;
    const last = document.querySelector("#place [data-last-x]");
    if (last) goElsewhere({ x: Number(last.dataset.lastX), y: Number(last.dataset.lastY) }, "Once more at");
    else refuse("Nothing was read here last.");
});

document.getElementById("go-elsewhere").addEventListener("click", () => {
    if (taking) return;
    const [x, y] = ["elsewhere-x", "elsewhere-y"].map((id) => document.getElementById(id).value.trim());
    // What a gauge sends next is no distance.
    document.activeElement?.blur();
    if (/^\d+(\.\d+)?$/.test(x) && /^\d+(\.\d+)?$/.test(y)) goElsewhere({ x: Number(x), y: Number(y) }, "Read instead at");
    else refuse("Give both distances in mm, like 420.");
});

called.addEventListener("click", () => {
    const is = called.getAttribute("aria-pressed") !== "true";
    called.setAttribute("aria-pressed", String(is));
    document.body.classList.toggle("called", is);
});

// Readings of this panel that wait on this device since before the page was loaded: the place on it may be read already.
async function wasReadAlone() {
    const { rows } = await all().catch(() => ({ rows: [] }));
    const bodies = rows.filter((row) => row.state === "waiting" && row.kind === "reading-taken" && row.job === document.body.dataset.job).map((row) => JSON.parse(row.bytes).body);
    const last = bodies.filter((body) => body.panel === place().dataset.panel).pop();
    if (last && !taking) noPlace(last);
}

unit.addEventListener("change", show);
hold();
show();
wasReadAlone();
