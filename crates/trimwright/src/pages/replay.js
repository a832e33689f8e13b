// The outing watched again: the still chart becomes a moving one, with a hand on the clock. Everything comes from this machine.
"use strict";
(() => {
  const place = document.getElementById("replay");
  if (!place) return;
  const first = Number(place.dataset.first), last = Number(place.dataset.last);
  const followed = place.dataset.followed === undefined ? -1 : Number(place.dataset.followed);
  const hand = document.getElementById("hand"), pace = document.getElementById("pace"), watch = document.getElementById("watch"), now = document.getElementById("now");
  const unit = { name: place.dataset.unit || "m", metres: Number(place.dataset.metres) || 1 };
  // A second of which nothing was recorded.
  const GAP = -32768;
  const canvas = document.createElement("canvas"), still = document.createElement("canvas");
  canvas.setAttribute("aria-hidden", "true");
  let boats = [], wind = [], marks = [], clock = null, view = null, time = first, running = false, before = 0, said = -1, spoken = -1e9, blew = 0;
  // How long frames took: counts of tenths of a millisecond.
  const took = new Uint32Array(1000);
  let frames = 0;
  const colour = (name) => getComputedStyle(document.documentElement).getPropertyValue(name).trim();
  let ink, line, sheet, accent, hull;
  const shape = new Path2D("M0 -10L4.5 -2L4 8L-4 8L-4.5 -2Z");

  const read = (buffer) => {
    const bytes = new Uint8Array(buffer), end = bytes.indexOf(10);
    const head = JSON.parse(new TextDecoder().decode(bytes.subarray(0, end)));
    let at = end + 1;
    for (const boat of head.boats) {
      boat.steps = new Int16Array(buffer, at, 2 * boat.count);
      at += 4 * boat.count;
    }
    ({ boats, wind, marks } = head);
    for (const boat of boats) {
      boat.places = new Float32Array(2 * boat.count);
      for (let i = 0; i < boat.places.length; i++) boat.places[i] = boat.steps[i] === GAP ? NaN : head.origin[i & 1] + head.unit * boat.steps[i];
      boat.pixels = new Float32Array(2 * boat.count);
    }
    clock = new Intl.DateTimeFormat("en-GB", { timeZone: head.zone, hour: "2-digit", minute: "2-digit", second: "2-digit" });
  };

  // Metres to pixels: as much as the page's width gives, everything to one scale.
  const look = () => {
    let [w, e, s, n] = [Infinity, -Infinity, Infinity, -Infinity];
    const take = (x, y) => { if (x === x) { w = Math.min(w, x); e = Math.max(e, x); s = Math.min(s, y); n = Math.max(n, y); } };
    for (const { places } of boats) for (let i = 0; i < places.length; i += 2) take(places[i], places[i + 1]);
    for (const [, x, y] of marks) take(x, y);
    const width = place.clientWidth, side = width > 600 ? 110 : 0, tall = Math.min(620, Math.max(320, window.innerHeight * 0.7)), room = 26;
    const scale = Math.min((width - side - 2 * room) / Math.max(20, e - w), (tall - 2 * room) / Math.max(20, n - s));
    const height = Math.max(260, (n - s) * scale + 2 * room);
    const dots = window.devicePixelRatio || 1;
    for (const one of [canvas, still]) { one.width = width * dots; one.height = height * dots; }
    canvas.style.width = width + "px"; canvas.style.height = height + "px";
    const left = 0.5 * (width - side - (e - w) * scale), top = 0.5 * (height - (n - s) * scale);
    view = { width, height, scale, dots, x: (x) => (x - w) * scale + left, y: (y) => (n - y) * scale + top };
    for (const { places, pixels } of boats) for (let i = 0; i < places.length; i += 2) { pixels[i] = view.x(places[i]); pixels[i + 1] = view.y(places[i + 1]); }
    [ink, line, sheet, accent, hull] = ["--ink", "--line", "--sheet", "--acc", "--hullw"].map(colour);
    ground();
  };

  const path = (pen, pixels, from, to, step) => {
    let down = false;
    for (let i = from; i < to; i += step) {
      const x = pixels[2 * i];
      if (x !== x) { down = false; continue; }
      if (down) pen.lineTo(x, pixels[2 * i + 1]); else pen.moveTo(x, pixels[2 * i + 1]);
      down = true;
    }
    return down;
  };

  // What does not move is drawn once.
  const ground = () => {
    const pen = still.getContext("2d");
    pen.setTransform(view.dots, 0, 0, view.dots, 0, 0);
    pen.fillStyle = sheet; pen.fillRect(0, 0, view.width, view.height);
    pen.strokeStyle = line; pen.lineWidth = 0.6; pen.globalAlpha = 0.55;
    for (const boat of boats) { pen.beginPath(); path(pen, boat.pixels, 0, boat.count, 2); pen.stroke(); }
    pen.globalAlpha = 1; pen.fillStyle = ink; pen.strokeStyle = ink; pen.font = "400 15px Atkinson, sans-serif";
    for (const [name, x, y] of marks) {
      pen.beginPath(); pen.arc(view.x(x), view.y(y), 5, 0, 7); pen.fill();
      pen.fillText(name, view.x(x) + 9, view.y(y) - 7);
    }
    pen.lineWidth = 1.5; pen.strokeRect(0.75, 0.75, view.width - 1.5, view.height - 1.5);
    const bar = [5000, 2000, 1000, 500, 200, 100, 50, 20, 10].find((n) => n * unit.metres * view.scale <= 130) || 10;
    const long = bar * unit.metres * view.scale;
    const y = view.height - 14, x = view.width - 20;
    pen.beginPath(); pen.moveTo(x - long, y - 6); pen.lineTo(x - long, y); pen.lineTo(x, y); pen.lineTo(x, y - 6); pen.stroke();
    pen.textAlign = "end"; pen.fillText(bar + " " + unit.name, x, y - 9); pen.textAlign = "start";
    pen.beginPath(); pen.moveTo(20, 44); pen.lineTo(20, 16); pen.lineTo(15, 24); pen.moveTo(20, 16); pen.lineTo(25, 24); pen.stroke();
    pen.fillText("N", 15, 60);
  };

  // The wind of the moment: time mostly goes on, so it is looked for from where it was last.
  const blowing = () => {
    if (!wind.length) return null;
    while (blew > 0 && wind[blew][0] > time) blew--;
    while (blew + 1 < wind.length && wind[blew + 1][0] <= time) blew++;
    const next = wind[blew + 1], near = next && next[0] - time < time - wind[blew][0] ? next : wind[blew];
    return Math.abs(near[0] - time) < 60 ? near : null;
  };

  const arrow = (pen, [, from, half]) => {
    const cx = view.width - 60, cy = 66, turn = (degrees, r) => [cx + r * Math.sin(degrees * Math.PI / 180), cy - r * Math.cos(degrees * Math.PI / 180)];
    pen.strokeStyle = line; pen.lineWidth = 1;
    const spread = Math.min(90, half);
    for (let n = 0; n <= 12; n++) {
      const at = from - spread + spread * n / 6;
      pen.beginPath(); pen.moveTo(...turn(at, 16)); pen.lineTo(...turn(at, 46)); pen.stroke();
    }
    pen.strokeStyle = ink; pen.lineWidth = 3; pen.beginPath(); pen.moveTo(...turn(from, 46)); pen.lineTo(...turn(from + 180, 46));
    pen.moveTo(...turn(from + 194, 32)); pen.lineTo(...turn(from + 180, 46)); pen.lineTo(...turn(from + 166, 32)); pen.stroke();
  };

  // Tails of a minute and a half in one stroke; where a boat is now lies between two of her seconds.
  const tails = (pen, chosen) => {
    pen.beginPath();
    for (const boat of chosen) {
      const k = Math.min(boat.count - 1, boat.now);
      if (path(pen, boat.pixels, Math.max(0, k - 90) & ~1, k + 1, 2) && boat.x === boat.x) pen.lineTo(boat.x, boat.y);
    }
    pen.stroke();
  };

  const place_of = (boat) => {
    const since = time - boat.start, k = Math.floor(since), p = boat.pixels;
    boat.now = k;
    if (k < 0 || k >= boat.count) return false;
    const l = Math.min(boat.count - 1, k + 1), part = since - k;
    boat.x = p[2 * k] + part * (p[2 * l] - p[2 * k]);
    boat.y = p[2 * k + 1] + part * (p[2 * l + 1] - p[2 * k + 1]);
    return true;
  };

  const hulls = (pen, boat, mine) => {
    if (boat.x !== boat.x) return;
    const k = boat.now, j = Math.max(0, k - 2), l = Math.min(boat.count - 1, k + 2), p = boat.pixels;
    const way = Math.atan2(p[2 * l] - p[2 * j], p[2 * j + 1] - p[2 * l + 1]), dots = view.dots;
    const c = way === way ? Math.cos(way) * dots : dots, s = way === way ? Math.sin(way) * dots : 0;
    pen.setTransform(c, s, -s, c, boat.x * dots, boat.y * dots);
    pen.fillStyle = mine ? accent : hull;
    pen.fill(shape); pen.stroke(shape);
  };

  const draw = () => {
    const begun = performance.now(), pen = canvas.getContext("2d");
    pen.setTransform(1, 0, 0, 1, 0, 0);
    pen.drawImage(still, 0, 0);
    pen.setTransform(view.dots, 0, 0, view.dots, 0, 0);
    const own = boats[followed], there = boats.filter(place_of), others = there.filter((boat) => boat !== own);
    const mine = own && there.includes(own) ? own : null;
    pen.strokeStyle = ink; pen.lineWidth = 1.4; tails(pen, others);
    if (mine) { pen.strokeStyle = accent; pen.lineWidth = 3; tails(pen, [mine]); }
    pen.strokeStyle = ink; pen.lineWidth = 1;
    for (const boat of others) hulls(pen, boat, false);
    if (mine) hulls(pen, mine, true);
    pen.setTransform(view.dots, 0, 0, view.dots, 0, 0);
    pen.font = "700 14px Atkinson, sans-serif";
    // Where boats lie together, one name stands for them; the followed one's always stands.
    // Under each name the sheet, so that it is read on trails too.
    const named = [];
    pen.strokeStyle = sheet; pen.lineWidth = 3; pen.lineJoin = "round";
    const name = (boat) => { if (boat.x === boat.x) { named.push(boat); pen.strokeText(boat.name, boat.x + 9, boat.y - 6); pen.fillText(boat.name, boat.x + 9, boat.y - 6); } };
    if (mine) { pen.fillStyle = accent; name(mine); }
    pen.fillStyle = ink;
    for (const boat of others) if (!named.some((q) => Math.abs(q.x - boat.x) < 60 && Math.abs(q.y - boat.y) < 15)) name(boat);
    const blow = blowing();
    if (blow) arrow(pen, blow);
    // Words, and the hand, four times a second at most: nobody reads faster.
    const second = Math.floor(time);
    if (second !== said && (!running || begun - spoken > 250)) { said = second; spoken = begun; tell(blow, mine); }
    took[Math.min(took.length - 1, Math.floor(10 * (performance.now() - begun)))]++;
    frames++;
  };

  // A picture from the coach boat stands under the chart while its second passes, and three seconds longer.
  const pictures = JSON.parse(place.dataset.pictures || "[]"), shot = document.getElementById("shot");
  let shown = -1e9;
  const show = () => {
    const near = pictures.find(([at]) => Math.abs(at - time) <= Math.max(4, 0.3 * Number(pace.value)));
    if (near) {
      if (shot.getAttribute("src") !== near[1]) shot.src = near[1];
      shown = performance.now();
    }
    shot.hidden = performance.now() - shown > 3000;
  };

  const tell = (blow, own) => {
    let n = 0, seen = 0;
    while (n < took.length && seen + took[n] < 0.95 * frames) seen += took[n++];
    place.dataset.frame = ((n + 1) / 10).toFixed(1);
    hand.value = String(said);
    if (shot) show();
    const at = clock.format(said * 1000);
    hand.setAttribute("aria-valuetext", at);
    const parts = [at];
    if (blow) parts.push("wind from " + String(Math.round(blow[1]) % 360).padStart(3, "0") + "° ± " + Math.round(blow[2]) + "°" + (blow[3] ? ", " + Math.round(blow[3][0]) + " ± " + Math.round(blow[3][1]) + " knots" : ""));
    if (own) {
      const k = own.now, j = Math.max(0, k - 2), l = Math.min(own.count - 1, k + 2), knots = Math.max(1, l - j) * 0.514444;
      const dx = (own.places[2 * l] - own.places[2 * j]) / knots, dy = (own.places[2 * l + 1] - own.places[2 * j + 1]) / knots;
      if (dx === dx) {
        parts.push(Math.hypot(dx, dy).toFixed(1) + " knots");
        if (blow) {
          const good = dx * Math.sin(blow[1] * Math.PI / 180) + dy * Math.cos(blow[1] * Math.PI / 180);
          parts.push(Math.abs(good).toFixed(1) + (good > 0 ? " made good to windward" : " made good to leeward"));
        }
      }
    }
    now.textContent = parts.join(", ");
  };

  const frame = (at) => {
    if (!running) return;
    time = Math.min(last, time + Number(pace.value) * Math.min(0.25, (at - before) / 1000));
    before = at;
    if (time >= last) run(false);
    draw();
    if (running) requestAnimationFrame(frame);
  };
  const run = (on) => {
    running = on;
    watch.textContent = on ? "Stop" : "Watch it again";
    watch.classList.toggle("busy", on);
    if (on) { if (time >= last) time = first; before = performance.now(); requestAnimationFrame(frame); }
  };

  fetch(place.dataset.trails).then((answer) => { if (!answer.ok) throw new Error(); return answer.arrayBuffer(); }).then((buffer) => {
    read(buffer);
    place.querySelector(".still").hidden = true;
    place.prepend(canvas);
    place.querySelector(".hand").hidden = false;
    look(); draw();
    watch.addEventListener("click", () => run(!running));
    hand.addEventListener("input", () => { time = Number(hand.value); draw(); });
    for (const link of document.querySelectorAll("[data-at]")) link.addEventListener("click", () => {
      run(false);
      time = Math.max(first, Number(link.dataset.at) - 12);
      draw(); run(true);
    });
    let waiting = 0;
    window.addEventListener("resize", () => { clearTimeout(waiting); waiting = setTimeout(() => { look(); draw(); }, 120); });
    matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => { look(); draw(); });
  }).catch(() => { /* The still chart stays. */ });
})();
