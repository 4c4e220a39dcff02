// The only way by which text becomes a page here, and an address a worker: browsers that hold to it (W3C, Trusted Types) take neither from anywhere else.

const ours = globalThis.trustedTypes?.createPolicy("lastmicron", { createHTML: (text) => text, createScriptURL: (address) => address });

// A page that the workshop's computer answered with, to be looked into: nothing in it runs.
export function parsed(text) {
    return new DOMParser().parseFromString(ours ? ours.createHTML(text) : text, "text/html");
}

export const WORKER = ours ? ours.createScriptURL("/worker.js") : "/worker.js";
