// Sends a document to be checked, and shows what was found.

const verdict = document.getElementById("verdict");

document.getElementById("document").addEventListener("change", async (chosen) => {
    const file = chosen.target.files[0];
    if (!file) return;
    verdict.textContent = "Looking at it.";
    try {
        const answer = await fetch("/verify", { method: "POST", body: file });
        const told = await answer.json();
        const lines = answer.ok ? [told.whole, told.signed, told.here] : [`It can't be vouched for: ${told.detail}.`];
        verdict.replaceChildren(...lines.map((line) => {
            const paragraph = document.createElement("p");
            paragraph.textContent = line;
            return paragraph;
        }));
    } catch {
        verdict.textContent = "The workshop's computer does not answer.";
    }
});
