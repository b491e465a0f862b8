// Charts open on a tap: what zooms is fetched only then, and the server's drawing stays for who does not.

for (const button of document.querySelectorAll("button[data-zooms]")) {
  button.hidden = false;
  button.addEventListener("click", async () => {
    button.disabled = true;
    try {
      const { zoomed } = await import("./zoom.js");
      await zoomed(button.closest("[data-chart]"), button);
    } catch {
      button.textContent = button.dataset.failed;
    }
    button.disabled = false;
  });
}
