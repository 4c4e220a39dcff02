// SHA-256 (FIPS 180-4), and the canonical form of an event (RFC 8785): by both a receipt is known to be of these very bytes.

// The first 32 bits of the fractional parts of the cube roots of the first 64 primes, and of the square roots of the first 8: FIPS 180-4, sections 4.2.2 and 5.3.3.
const PRIMES = [];
for (let n = 2; PRIMES.length < 64; n += 1) if (PRIMES.every((prime) => n % prime !== 0)) PRIMES.push(n);

const MASK = 0xffffffffn;

// Whole root of a number, by bisection: the bits that are wanted lie beyond what a double holds of a cube.
function root(number, power) {
    let low = 0n;
    let high = 1n << 40n;
    while (high - low > 1n) {
        const middle = (low + high) / 2n;
        if (middle ** power <= number) low = middle;
        else high = middle;
    }
    return low;
}

const K = PRIMES.map((prime) => Number(root(BigInt(prime) << 96n, 3n) & MASK));
const H = PRIMES.slice(0, 8).map((prime) => Number(root(BigInt(prime) << 64n, 2n) & MASK));

const turn = (word, by) => (word >>> by) | (word << (32 - by));

// The message with a one, zeros, and its length in bits: section 5.1.1.
function padded(bytes) {
    const whole = new Uint8Array(Math.ceil((bytes.length + 9) / 64) * 64);
    whole.set(bytes);
    whole[bytes.length] = 0x80;
    const view = new DataView(whole.buffer);
    view.setUint32(whole.length - 8, Math.floor(bytes.length / 2 ** 29));
    view.setUint32(whole.length - 4, (bytes.length * 8) >>> 0);
    return view;
}

// One block of 512 bits: section 6.2.2.
function block(state, view, at, words) {
    for (let t = 0; t < 16; t += 1) words[t] = view.getUint32(at + 4 * t);
    for (let t = 16; t < 64; t += 1) {
        const [before, last] = [words[t - 15], words[t - 2]];
        const s0 = turn(before, 7) ^ turn(before, 18) ^ (before >>> 3);
        const s1 = turn(last, 17) ^ turn(last, 19) ^ (last >>> 10);
        words[t] = words[t - 16] + s0 + words[t - 7] + s1;
    }
    let [a, b, c, d, e, f, g, h] = state;
    for (let t = 0; t < 64; t += 1) {
        const one = (h + (turn(e, 6) ^ turn(e, 11) ^ turn(e, 25)) + ((e & f) ^ (~e & g)) + K[t] + words[t]) | 0;
        const two = ((turn(a, 2) ^ turn(a, 13) ^ turn(a, 22)) + ((a & b) ^ (a & c) ^ (b & c))) | 0;
        [h, g, f, e, d, c, b, a] = [g, f, e, (d + one) | 0, c, b, a, (one + two) | 0];
    }
    [a, b, c, d, e, f, g, h].forEach((word, i) => { state[i] += word; });
}

const inHex = (bytes) => Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("");

// Computed here: plain http by another name than localhost is offered no crypto.subtle.
export function sha256Here(bytes) {
    const state = Uint32Array.from(H);
    const view = padded(bytes);
    const words = new Uint32Array(64);
    for (let at = 0; at < view.byteLength; at += 64) block(state, view, at, words);
    return Array.from(state, (word) => word.toString(16).padStart(8, "0")).join("");
}

// The SHA-256 of bytes, as 64 hexadecimal digits.
export async function sha256(bytes) {
    if (!globalThis.crypto?.subtle) return sha256Here(bytes);
    return inHex(new Uint8Array(await crypto.subtle.digest("SHA-256", bytes)));
}

// RFC 8785 for what events are made of: texts, whole numbers, booleans, lists, objects. What is null or left out is not written (docs/record.md).
export function canonical(value) {
    if (Array.isArray(value)) return `[${value.map(canonical).join(",")}]`;
    if (value === null || typeof value !== "object") return JSON.stringify(value);
    const members = Object.keys(value).filter((name) => value[name] !== undefined && value[name] !== null).sort();
    return `{${members.map((name) => `${JSON.stringify(name)}:${canonical(value[name])}`).join(",")}}`;
}

// What a receipt of the event names as `event`.
export function digestOf(event) {
    return sha256(new TextEncoder().encode(canonical(event)));
}
