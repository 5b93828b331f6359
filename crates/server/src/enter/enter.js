// Sends the code, from the form or from behind the # of the address that the QR code holds.
const said = document.getElementById("said");
const box = document.getElementById("code");

async function enter(code) {
  said.textContent = "";
  try {
    const answer = await fetch("/api/session", {
      method: "POST",
      headers: { "content-type": "application/json" },
      body: JSON.stringify({ code }),
    });
    if (answer.ok) {
      location.replace("/");
      return;
    }
    const fault = await answer.json();
    said.textContent = `${fault.message}. ${fault.mend}.`;
  } catch {
    said.textContent = "The other computer cannot be reached. Check that both are on the same network.";
  }
}

document.getElementById("form").addEventListener("submit", (event) => {
  event.preventDefault();
  enter(box.value);
});

const given = new URLSearchParams(location.hash.slice(1)).get("code");
if (given) {
  history.replaceState(null, "", location.pathname);
  box.value = given;
  enter(given);
}
