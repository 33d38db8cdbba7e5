// The sliders of the trim page: the newest place is asked for as soon as the answer before it is there; on release it is
// asked for sharp. A slider does not pass its wall, and goes back to the last safe place when a limit of the year breaks.
const begin = () => {
  const form = document.getElementById("trim");
  const year = document.getElementById("year");
  if (!form || !year || form.dataset.begun) return;
  form.dataset.begun = "1";
  const sliders = [...form.querySelectorAll("input[type=range]")];
  let asking = false;
  let waiting = null;
  let safe = null;
  let turn = 0;

  const shown = (slider) => {
    const { factor, offset, step, unit } = slider.dataset;
    const value = Number(slider.value) * Number(factor) + Number(offset);
    const rounded = Number(step) > 0 ? Math.round(value / Number(step)) * Number(step) : value;
    const decimals = Math.max(0, -Math.floor(Math.log10(Number(step) || 1) + 1e-9));
    const text = rounded.toLocaleString("en-US", { minimumFractionDigits: decimals, maximumFractionDigits: decimals });
    return `${text} ${unit}`;
  };

  const tell = (slider) => {
    const text = shown(slider);
    form.querySelector(`output[for="${slider.id}"]`).textContent = text;
    slider.setAttribute("aria-valuetext", text);
  };

  const hold = (slider) => {
    const wall = slider.dataset.wall;
    if (wall !== undefined && Number(slider.value) < Number(wall)) slider.value = wall;
    tell(slider);
  };

  const places = () => sliders.map((slider) => [slider.name, slider.value]);

  const put = (values) => {
    for (const [name, value] of values) {
      const slider = form.elements[name];
      slider.value = value;
      tell(slider);
    }
  };

  const show = (html, note) => {
    year.innerHTML = html;
    if (note) {
      const line = document.createElement("p");
      line.className = "wall";
      line.textContent = note;
      year.prepend(line);
    }
    performance.mark("year-shown");
    return year.querySelector(".year");
  };

  const ask = async (sharp, values, note) => {
    if (asking) {
      waiting = [sharp, values, note];
      return;
    }
    asking = true;
    const mine = ++turn;
    const query = new URLSearchParams([["hand", form.elements.hand.value], ...values]);
    if (sharp) query.set("sharp", "1");
    let answer = null;
    try {
      const reply = await fetch(`${form.dataset.year}?${query}`, { headers: { "X-Requested-With": "fetch" } });
      if (reply.ok && reply.status === 200) answer = await reply.text();
    } catch {
      answer = null;
    }
    asking = false;
    if (waiting) {
      const [nextSharp, nextValues, nextNote] = waiting;
      waiting = null;
      if (answer && !sharp) show(answer, note);
      ask(nextSharp, nextValues, nextNote);
      return;
    }
    if (!answer || mine !== turn) return;
    const holder = document.createElement("template");
    holder.innerHTML = answer;
    const got = holder.content.querySelector(".year");
    if (got.dataset.state === "working") {
      setTimeout(() => { if (mine === turn && !asking && !waiting) ask(sharp, values, note); }, 300);
      return;
    }
    show(answer, note);
    if (got.dataset.state !== "done") return;
    if (got.dataset.safe === "1") {
      safe = values;
      if (sharp) history.replaceState(null, "", `?${new URLSearchParams(values)}`);
      return;
    }
    if (sharp && safe && JSON.stringify(safe) !== JSON.stringify(values)) {
      const verdict = year.querySelector(".verdict").textContent;
      put(safe);
      ask(true, safe, `${verdict} ${form.dataset.back}`);
    }
  };

  for (const slider of sliders) {
    slider.addEventListener("input", () => { performance.mark("slider-moved"); hold(slider); ask(false, places(), ""); });
    slider.addEventListener("change", () => { hold(slider); ask(true, places(), ""); });
  }
  form.addEventListener("submit", (event) => event.preventDefault());
  ask(false, places(), "");
};

begin();
document.body.addEventListener("htmx:afterSettle", begin); // the page made ready while one waited
