// A button that copies a message; it shows only where the browser lets us.
for (const button of document.querySelectorAll("[data-copies]")) {
  if (!navigator.clipboard) continue;
  button.hidden = false;
  button.addEventListener("click", async () => {
    const message = document.getElementById(button.dataset.copies);
    try {
      await navigator.clipboard.writeText(message.textContent);
      button.textContent = "Copied";
    } catch {
      const range = document.createRange();
      range.selectNodeContents(message);
      getSelection().removeAllRanges();
      getSelection().addRange(range);
      button.textContent = "Marked: copy it by hand";
    }
  });
}
