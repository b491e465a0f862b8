// The strip asks without leaving the page; without this script its form opens a page of its own.

const form = document.querySelector("form[data-whatif]");
const told = document.getElementById("whatif-answer");

async function ask(button) {
  const asked = new URLSearchParams(new FormData(form));
  told.setAttribute("aria-busy", "true");
  button.disabled = true;
  try {
    const answer = await fetch(`${form.action}?${asked}`, { headers: { accept: "text/html" } });
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    const part = page.getElementById("whatif-answer");
    if (!part) throw new Error(answer.status);
    const said = document.createElement("p");
    said.className = "sentence";
    said.textContent = answer.ok ? page.querySelector("h1").textContent : "";
    told.replaceChildren(said, ...part.childNodes);
    told.scrollIntoView({ block: "nearest" });
  } catch {
    told.textContent = form.dataset.failed;
  }
  button.disabled = false;
  told.removeAttribute("aria-busy");
}

form?.addEventListener("submit", (event) => {
  event.preventDefault();
  ask(event.submitter ?? form.querySelector("button"));
});
