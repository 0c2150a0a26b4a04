// Buttons that copy a message; without a script it is selected by hand.

for (const button of document.querySelectorAll("button[data-copy]")) {
  button.hidden = false;
  button.addEventListener("click", async () => {
    const text = document.getElementById(button.dataset.copy);
    try {
      await navigator.clipboard.writeText(text.value);
      button.textContent = button.dataset.done;
    } catch {
      text.select(); // copying is not allowed here: it is ready to be copied by hand
    }
  });
}
