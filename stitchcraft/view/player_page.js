"use strict";
// The page around the picture: parts, slider, buttons, keys, steps, and what is said aloud.

(() => {
  const $ = (id) => document.getElementById(id);
  const data = JSON.parse($("data").textContent);
  const parts = data.parts.map(readPart);
  const calm = matchMedia("(prefers-reduced-motion: reduce)");
  const picture = new Picture($("stage"), colours);
  const ROLES = ["", "underlay, ", "on the way, ", "lock, "];
  const PACES = [1, 5, 20, 100, 400];
  const state = { part: 0, n: 0, exact: 0, sewing: false, last: 0, asked: false, wentAt: 0 };
  const count = (k) => k.toLocaleString("en-US");

  if (parts.some((one) => one.raw.cloth)) $("cloth").prepend(new Option("the bag's", "own", true, true));

  /** Whether pale marks show better on a cloth than dark ones: by its relative luminance. */
  function isDark(cloth) {
    const [r, g, b] = [1, 3, 5].map((at) => (parseInt(cloth.slice(at, at + 2), 16) / 255) ** 2.2);
    return 0.2126 * r + 0.7152 * g + 0.0722 * b < 0.2;
  }

  let shades = null, shadesOf = null;
  function colours(one = part()) {
    const chosen = $("cloth").value, own = chosen === "own" ? one.raw.cloth : null;
    if (shades && shadesOf === own) return shades;
    shadesOf = own;
    const style = getComputedStyle(document.documentElement), read = (name) => style.getPropertyValue("--" + name).trim();
    const dark = own ? isDark(own) : chosen === "dark", named = chosen === "own" ? "natural" : chosen;
    shades = {
      table: read("table"), cloth: own || read(named), field: read("field"), ink: read("ink"),
      comingColour: read(dark ? "coming-on-dark" : "coming"), moveColour: read(dark ? "move-on-dark" : "move"),
    };
    return shades;
  }

  // ---- what is shown -------------------------------------------------------------------------------------------

  const part = () => parts[state.part];
  const section = () => $("part-" + (state.part + 1));

  /** The stop at work after n penetrations, and whether the machine waits for hands there. */
  function moment(n) {
    const { ends, total, stop } = part();
    if (n >= total) return { stop: ends.length, waits: true };
    const next = stop[n];
    return { stop: next, waits: n === 0 || stop[n - 1] !== next };
  }

  function words(n) {
    const { raw, ends } = part(), { stop, waits } = moment(n), stops = raw.stops;
    if (stop === stops.length) return { waits, who: "All sewn.", what: raw.after };
    const first = stop ? ends[stop - 1] : 0;
    if (waits) return { waits, who: "Hands, before stop " + (stop + 1) + ":", what: stops[stop].before || thread(stops, stop) };
    const done = n - first, of = ends[stop] - first;
    return {
      waits, who: "Stop " + (stop + 1) + " of " + stops.length + ", " + stops[stop].thread + ":",
      what: stops[stop].sews + ". " + count(done) + " of " + count(of) + " stitches.",
    };
  }

  function thread(stops, k) {
    return k && stops[k].colour === stops[k - 1].colour ? "nothing to do; go on." : "put in the " + stops[k].thread + ".";
  }

  function update() {
    const { total, raw, role } = part(), n = state.n, said = words(n), { stop } = moment(n);
    $("place").value = n;
    if (!state.sewing) { // readers of the screen follow what stands still; the stops are said while it sews
      $("place").setAttribute("aria-valuetext", "stitch " + count(n) + " of " + count(total));
      $("stage").setAttribute("aria-label", raw.name + " in its field, " + count(n) + " of " + count(total) + " stitches sewn");
    }
    $("now").classList.toggle("hands", said.waits);
    $("who").textContent = said.who;
    $("what").textContent = said.what;
    $("done").textContent = "Stitch " + count(n) + " of " + count(total);
    $("left").textContent = place(n, role);
    $("go").textContent = state.sewing ? "Pause" : n >= total ? "Sew again" : "Sew";
    section().querySelectorAll(".stop").forEach((item, k) => {
      item.classList.toggle("at", k === stop);
      item.classList.toggle("sewn", k < stop);
      if (k === stop) item.setAttribute("aria-current", "step");
      else item.removeAttribute("aria-current");
    });
    picture.n = n;
    ask();
  }

  function place(n, role) {
    if (n === 0) return "";
    const { row, x, y } = part(), at = row[n - 1], mm = (units) => (units / 10).toFixed(1).replace("-", "−");
    return "· " + ROLES[role[n - 1]] + "needle at " + mm(x[at]) + ", " + mm(y[at]) + " mm from the middle";
  }

  // ---- what is said --------------------------------------------------------------------------------------------

  let telling = 0, toldStop = "";
  function tell(text, wait) {
    clearTimeout(telling);
    telling = setTimeout(() => { $("said").textContent = text; }, wait);
  }
  function tellMoment() {
    const said = words(state.n);
    tell(said.who + " " + said.what, 500);
  }
  function tellStop() {
    const key = state.part + "/" + moment(state.n).stop + "/" + words(state.n).who;
    if (key === toldStop) return;
    toldStop = key;
    tellMoment();
  }

  // ---- going there ---------------------------------------------------------------------------------------------

  function goTo(n) {
    state.n = state.exact = Math.max(0, Math.min(part().total, Math.round(n)));
    update();
  }
  function step(by) {
    pause();
    goTo(state.n + by);
    tellMoment();
  }
  function stopStarts() {
    const { ends, total } = part(), starts = [0];
    for (const end of ends) if (end > starts[starts.length - 1]) starts.push(end);
    return starts.includes(total) ? starts : [...starts, total];
  }
  function stepStop(by) {
    pause();
    const starts = stopStarts();
    goTo(by > 0 ? starts.find((n) => n > state.n) ?? part().total : starts.findLast((n) => n < state.n) ?? 0);
    tellMoment();
  }

  function sew() {
    if (state.n >= part().total) goTo(0);
    state.sewing = true;
    state.last = 0;
    update();
    tellStop();
  }
  function pause() {
    if (!state.sewing) return;
    state.sewing = false;
    update();
  }
  const toggle = () => (state.sewing ? (pause(), tellMoment()) : sew());

  /** Move on by the time that has passed; where the machine would wait for hands, wait too. */
  function advance(time) {
    if (!state.last) state.last = time;
    let passed = time - state.last;
    if (calm.matches && passed < 500) return; // twice a second, a picture that stands still in between
    passed = Math.min(passed, 600);
    state.last = time;
    const { ends, total } = part(), from = state.exact;
    let to = from + (passed / 60000) * data.speed * PACES[$("pace").selectedIndex];
    const halt = $("wait").checked ? ends.find((end) => end > from && end <= to) : undefined;
    if (halt !== undefined) to = halt;
    state.exact = Math.min(to, total);
    const n = Math.floor(state.exact);
    if (halt !== undefined || n >= total) {
      state.sewing = false;
      state.exact = n;
    }
    if (n !== state.n || !state.sewing) {
      state.n = n;
      update();
      tellStop();
    }
  }

  function ask() {
    if (state.asked) return;
    state.asked = true;
    requestAnimationFrame(frame);
  }
  function frame(time) {
    state.asked = false;
    if (state.sewing) advance(time);
    if (picture.frame(time) || state.sewing) ask();
    if ($("stage").ariaBusy !== String(picture.busy)) $("stage").ariaBusy = picture.busy;
    $("stage").classList.toggle("near", !picture.fitted);
  }

  // ---- parts ---------------------------------------------------------------------------------------------------

  function choose(k) {
    pause();
    state.part = k;
    document.querySelectorAll(".part").forEach((one, j) => one.classList.toggle("chosen", j === k));
    $("place").max = part().total;
    picture.setPart(part());
    flags();
    goTo(0);
    steady();
    toldStop = "";
  }

  /** Leave room for the longest of the part's texts, so that the controls stay where they are while it sews. */
  function steady() {
    const now = $("now"), { ends } = part();
    now.style.minHeight = "";
    let high = 0;
    for (const n of [0, ...ends.slice(0, -1), ...ends.map((end) => Math.max(0, end - 1))]) {
      const said = words(n);
      $("who").textContent = said.who;
      $("what").textContent = said.what;
      high = Math.max(high, now.offsetHeight);
    }
    now.style.minHeight = high + "px";
    update();
  }

  function flags() {
    const line = $("flags"), { ends, total } = part(), width = line.clientWidth;
    let free = -Infinity;
    line.replaceChildren();
    ends.forEach((end, k) => {
      const at = ((k ? ends[k - 1] : 0) / total) * width;
      if (at < free) return;
      const flag = document.createElement("span");
      flag.textContent = k + 1;
      flag.style.left = at + "px";
      line.append(flag);
      free = at + 20;
    });
  }

  function thumb(canvas, one) {
    const k = Math.min(2, devicePixelRatio || 1), side = 40;
    canvas.width = canvas.height = side * k;
    const ctx = canvas.getContext("2d"), [left, bottom, right, top] = one.box;
    const scale = (side - 6) / Math.max(right - left, top - bottom, 1);
    ctx.fillStyle = colours(one).cloth;
    ctx.fillRect(0, 0, side * k, side * k);
    ctx.setTransform(scale * k, 0, 0, -scale * k, (side / 2 - (scale * (left + right)) / 2) * k, (side / 2 + (scale * (top + bottom)) / 2) * k);
    ctx.lineWidth = 0.8 / scale;
    const skip = Math.max(1, Math.floor(one.total / 4000));
    one.raw.stops.forEach((stop, s) => {
      ctx.strokeStyle = stop.colour;
      ctx.beginPath();
      for (let i = s ? one.ends[s - 1] : 0; i < one.ends[s]; i += 1) {
        if (i % skip && one.how[i] === SEWN) continue;
        if (one.how[i] === SEWN && i >= skip) ctx.lineTo(one.x[one.row[i]], one.y[one.row[i]]);
        else ctx.moveTo(one.x[one.row[i]], one.y[one.row[i]]);
      }
      ctx.stroke();
    });
  }

  /** Give each part's list its finished picture, for paper. */
  function figures() {
    const { moveColour, comingColour } = colours(), ratio = 3, side = 250;
    document.querySelectorAll("canvas.print").forEach((canvas, k) => {
      const [left, bottom, right, top] = parts[k].box, scale = side / Math.max(right - left, top - bottom, 1);
      const width = Math.ceil(scale * (right - left)) + 6, height = Math.ceil(scale * (top - bottom)) + 6;
      const view = { scale, x: 3 - scale * left, y: 3 + scale * top };
      const size = { width: width * ratio, height: height * ratio, ratio };
      const sewing = new Sewing(parts[k], view, size, { moves: false, moveColour, comingColour });
      sewing.show(parts[k].total, Infinity);
      canvas.width = size.width;
      canvas.height = size.height;
      canvas.style.width = width + "px";
      canvas.getContext("2d").drawImage(sewing.main.canvas, 0, 0);
      canvas.hidden = false;
    });
  }

  function partChooser() {
    const line = document.createElement("div");
    line.className = "row";
    parts.forEach((one, k) => {
      const label = document.createElement("label"), radio = document.createElement("input"), name = document.createElement("bdi");
      const small = document.createElement("canvas");
      radio.type = "radio";
      radio.name = "part";
      radio.checked = k === 0;
      radio.addEventListener("change", () => { choose(k); tellMoment(); });
      small.setAttribute("aria-hidden", "true");
      name.textContent = one.raw.name;
      label.append(radio, small, name);
      line.append(label);
    });
    $("parts").append(line);
    $("parts").hidden = parts.length < 2;
  }
  const thumbs = () => $("parts").querySelectorAll("canvas").forEach((small, k) => thumb(small, parts[k]));

  // ---- hands on the page ---------------------------------------------------------------------------------------

  const middle = () => { const box = $("stage").getBoundingClientRect(); return [box.width / 2, box.height / 2]; };
  function zoom(factor, at = middle()) { picture.zoom(factor, ...at); ask(); }
  function whole() { picture.fit(); ask(); }
  function pan(dx, dy) { picture.pan(dx, dy); ask(); }

  function pointers() {
    const canvas = $("stage"), held = new Map();
    const at = (event) => { const box = canvas.getBoundingClientRect(); return [event.clientX - box.left, event.clientY - box.top]; };
    const spread = () => { const [a, b] = [...held.values()]; return [Math.hypot(a[0] - b[0], a[1] - b[1]), (a[0] + b[0]) / 2, (a[1] + b[1]) / 2]; };
    canvas.addEventListener("pointerdown", (event) => {
      if (event.button > 0) return;
      canvas.setPointerCapture(event.pointerId);
      held.set(event.pointerId, at(event));
      canvas.classList.add("held");
    });
    canvas.addEventListener("pointermove", (event) => {
      const was = held.get(event.pointerId);
      if (!was) return;
      const is = at(event);
      if (held.size === 1) {
        if (event.pointerType !== "touch" || !picture.fitted) pan(is[0] - was[0], is[1] - was[1]);
        held.set(event.pointerId, is);
      } else if (held.size === 2) {
        const [before, bx, by] = spread();
        held.set(event.pointerId, is);
        const [after, ax, ay] = spread();
        picture.pan(ax - bx, ay - by);
        if (before > 0) zoom(after / before, [ax, ay]);
      }
    });
    for (const end of ["pointerup", "pointercancel", "lostpointercapture"]) {
      canvas.addEventListener(end, (event) => {
        held.delete(event.pointerId);
        canvas.classList.toggle("held", held.size > 0);
      });
    }
    canvas.addEventListener("wheel", (event) => {
      if (event.deltaY > 0 && picture.fitted) return; // nothing farther: let the page scroll
      event.preventDefault();
      const lines = event.deltaMode === 1 ? 20 : 1;
      zoom(Math.exp(-Math.max(-200, Math.min(200, event.deltaY * lines)) / 400), at(event));
    }, { passive: false });
  }

  function keys(event) {
    const on = document.activeElement || document.body, tag = on.tagName;
    if (event.ctrlKey || event.metaKey || event.altKey || event.defaultPrevented) return;
    if (!$("everywhere").checked && !$("bench").contains(on)) return;
    const arrows = { ArrowLeft: [1, 0], ArrowRight: [-1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };
    if (tag === "SELECT") return;
    let act = null;
    if (on === $("stage") && event.key in arrows) act = () => pan(...arrows[event.key].map((v) => v * 40));
    else if (event.key === " " && !["BUTTON", "SUMMARY"].includes(tag) && on.type !== "checkbox" && on.type !== "radio") act = toggle;
    else if (event.key === "ArrowLeft" && on.type !== "radio") act = () => step(event.shiftKey ? -10 : -1);
    else if (event.key === "ArrowRight" && on.type !== "radio") act = () => step(event.shiftKey ? 10 : 1);
    else {
      act = {
        b: () => stepStop(-1), n: () => stepStop(1), "+": () => zoom(1.4), "=": () => zoom(1.4), "-": () => zoom(1 / 1.4),
        "−": () => zoom(1 / 1.4), 0: whole, "?": () => { $("help").open = !$("help").open; },
      }[event.key.toLowerCase()];
    }
    if (!act) return;
    event.preventDefault();
    act();
  }

  function begin() {
    document.documentElement.classList.add("alive");
    for (const k of PACES) {
      const option = document.createElement("option");
      option.textContent = k === 1 ? "as sewn, " + count(data.speed) + " a minute" : k + " times as fast";
      $("pace").append(option);
    }
    $("pace").selectedIndex = 2;
    partChooser();
    pointers();
    $("place").addEventListener("input", () => { state.sewing = false; goTo(+$("place").value); tellMoment(); });
    $("go").addEventListener("click", toggle);
    $("stitch-back").addEventListener("click", () => step(-1));
    $("stitch-on").addEventListener("click", () => step(1));
    $("stop-back").addEventListener("click", () => stepStop(-1));
    $("stop-on").addEventListener("click", () => stepStop(1));
    $("closer").addEventListener("click", () => zoom(1.6));
    $("farther").addEventListener("click", () => zoom(1 / 1.6));
    $("whole").addEventListener("click", whole);
    for (const name of ["moves", "coming"]) {
      $(name).addEventListener("change", () => { picture.options[name] = $(name).checked; picture.renew(); ask(); });
    }
    const repaint = () => { shades = null; thumbs(); picture.renew(); ask(); };
    $("cloth").addEventListener("change", repaint);
    matchMedia("(prefers-color-scheme: dark)").addEventListener("change", repaint);
    document.querySelectorAll(".part").forEach((one, k) => {
      one.querySelectorAll("button").forEach((button, stop) => {
        button.addEventListener("click", () => {
          pause();
          goTo(stop ? parts[k].ends[stop - 1] : 0);
          tellMoment();
        });
      });
    });
    document.addEventListener("keydown", keys);
    addEventListener("beforeprint", figures);
    new ResizeObserver(() => { picture.renew(); flags(); steady(); }).observe($("stage"));
    picture.renew();
    choose(0);
    thumbs();
  }
  begin();
})();
