// How the screen looks and which hand taps, as this phone was told; set before anything is drawn.
try {
  const told = JSON.parse(localStorage.getItem("outpace-look") || "{}");
  if (told.look) document.documentElement.dataset.look = told.look;
  if (told.hand) document.documentElement.dataset.hand = told.hand;
} catch {
  // A browser that keeps nothing shows the page as it is.
}
