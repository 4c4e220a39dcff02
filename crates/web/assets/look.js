// Opens a link: what stands behind its mark is handed over once, and is gone from the address then.

const told = document.getElementById("looking");

async function open(token) {
    history.replaceState(null, "", "/look");
    const answer = await fetch("/look", { method: "POST", body: token });
    if (answer.ok) {
        location.reload();
        return;
    }
    const said = await answer.json();
    const words = document.createElement("p");
    words.className = "stop";
    words.textContent = said.detail;
    (told ?? document.querySelector("h1")).after(words);
}

if (location.hash.length > 1) open(location.hash.slice(1));
