// Sets the light before anything is drawn, so that no page flashes white at night.
(() => {
  let kept = null;
  try { kept = localStorage.getItem("ribband.light"); } catch { /* private window */ }
  const dark = matchMedia("(prefers-color-scheme: dark)").matches;
  const sharp = matchMedia("(prefers-contrast: more)").matches;
  document.documentElement.dataset.light = kept || (dark ? "night" : sharp ? "sun" : "office");
})();
