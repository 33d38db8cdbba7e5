// A picture to be explored: the program that draws it is loaded only when somebody asks, and reads expressions without eval.
const load = (address) => new Promise((done, failed) => {
  if (window.airtrimExplore) { done(); return; }
  const script = document.createElement("script");
  script.src = address;
  script.addEventListener("load", done);
  script.addEventListener("error", failed);
  document.head.append(script);
});

const explore = async (button) => {
  const place = button.closest("figure").querySelector(".explored");
  button.disabled = true;
  place.hidden = false;
  try {
    await load(button.dataset.program);
    const wide = window.matchMedia("(min-width: 46rem)").matches;
    const reply = await fetch(wide ? button.dataset.wide : button.dataset.narrow);
    if (!reply.ok) throw new Error(String(reply.status));
    const specification = await reply.json();
    await window.airtrimExplore(place, specification, {
      ast: true, actions: false, defaultStyle: false, renderer: "svg", tooltip: { disableDefaultStyle: true },
    });
    place.focus();
  } catch {
    place.textContent = button.dataset.failed;
    button.disabled = false;
  }
};

for (const button of document.querySelectorAll("button.explore")) {
  button.hidden = false;
  button.addEventListener("click", () => explore(button));
}
