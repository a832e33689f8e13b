// The outing watched again: the still chart becomes a moving one, with a hand on the clock. Everything comes from this machine.
"use strict";
(() => {
  const place = document.getElementById("replay");
  if (!place) return;
  const first = Number(place.dataset.first), last = Number(place.dataset.last);
  const followed = place.dataset.followed === undefined ? -1 : Number(place.dataset.followed);
  const hand = document.getElementById("hand"), pace = document.getElementById("pace"), watch = document.getElementById("watch"), now = document.getElementById("now");
  const canvas = document.createElement("canvas"), still = document.createElement("canvas");
  canvas.setAttribute("aria-hidden", "true");
  let boats = [], wind = [], marks = [], zone = "UTC", view = null, time = first, running = false, before = 0, said = -1;
  const took = [];
  const colour = (name) => getComputedStyle(document.documentElement).getPropertyValue(name).trim();
  let ink, line, sheet, accent, hull;

  const read = (buffer) => {
    const bytes = new Uint8Array(buffer), end = bytes.indexOf(10);
    const head = JSON.parse(new TextDecoder().decode(bytes.subarray(0, end)));
    let at = end + 1;
    for (const boat of head.boats) {
      boat.places = new Float32Array(buffer, at, 2 * boat.count);
      at += 8 * boat.count;
    }
    ({ boats, wind, marks, zone } = head);
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
    [ink, line, sheet, accent, hull] = ["--ink", "--line", "--sheet", "--acc", "--hullw"].map(colour);
    ground();
  };

  const path = (pen, places, from, to, step) => {
    let down = false;
    pen.beginPath();
    for (let i = from; i < to; i += step) {
      const x = places[2 * i], y = places[2 * i + 1];
      if (x !== x) { down = false; continue; }
      if (down) pen.lineTo(view.x(x), view.y(y)); else pen.moveTo(view.x(x), view.y(y));
      down = true;
    }
    pen.stroke();
  };

  // What does not move is drawn once.
  const ground = () => {
    const pen = still.getContext("2d");
    pen.setTransform(view.dots, 0, 0, view.dots, 0, 0);
    pen.fillStyle = sheet; pen.fillRect(0, 0, view.width, view.height);
    pen.strokeStyle = line; pen.lineWidth = 0.6; pen.globalAlpha = 0.55;
    for (const boat of boats) path(pen, boat.places, 0, boat.count, 2);
    pen.globalAlpha = 1; pen.fillStyle = ink; pen.strokeStyle = ink; pen.font = "400 15px Atkinson, sans-serif";
    for (const [name, x, y] of marks) {
      pen.beginPath(); pen.arc(view.x(x), view.y(y), 5, 0, 7); pen.fill();
      pen.fillText(name, view.x(x) + 9, view.y(y) - 7);
    }
    pen.lineWidth = 1.5; pen.strokeRect(0.75, 0.75, view.width - 1.5, view.height - 1.5);
    const bar = [1000, 500, 200, 100, 50, 20, 10].find((m) => m * view.scale <= 130) || 10;
    const y = view.height - 14, x = view.width - 20;
    pen.beginPath(); pen.moveTo(x - bar * view.scale, y - 6); pen.lineTo(x - bar * view.scale, y); pen.lineTo(x, y); pen.lineTo(x, y - 6); pen.stroke();
    pen.textAlign = "end"; pen.fillText(bar + " m", x, y - 9); pen.textAlign = "start";
    pen.beginPath(); pen.moveTo(20, 44); pen.lineTo(20, 16); pen.lineTo(15, 24); pen.moveTo(20, 16); pen.lineTo(25, 24); pen.stroke();
    pen.fillText("N", 15, 60);
  };

  const blowing = () => {
    let low = 0, high = wind.length - 1;
    while (low < high) { const middle = (low + high) >> 1; if (wind[middle][0] < time) low = middle + 1; else high = middle; }
    const near = [wind[low], wind[low - 1]].filter(Boolean).sort((a, b) => Math.abs(a[0] - time) - Math.abs(b[0] - time))[0];
    return near && Math.abs(near[0] - time) < 60 ? near : null;
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

  const draw = () => {
    const begun = performance.now(), pen = canvas.getContext("2d");
    pen.setTransform(1, 0, 0, 1, 0, 0);
    pen.drawImage(still, 0, 0);
    pen.setTransform(view.dots, 0, 0, view.dots, 0, 0);
    pen.font = "700 14px Atkinson, sans-serif";
    let own = null;
    const named = [];
    boats.forEach((boat, n) => {
      const k = Math.round(time - boat.start);
      if (k < 0 || k >= boat.count) return;
      const mine = n === followed, x = boat.places[2 * k], y = boat.places[2 * k + 1];
      pen.strokeStyle = mine ? accent : ink; pen.lineWidth = mine ? 3 : 1.4;
      path(pen, boat.places, Math.max(0, k - 90), k + 1, 1);
      if (x !== x) return;
      const j = Math.max(0, k - 2), l = Math.min(boat.count - 1, k + 2), dx = boat.places[2 * l] - boat.places[2 * j], dy = boat.places[2 * l + 1] - boat.places[2 * j + 1];
      const way = Math.atan2(dx, dy), px = view.x(x), py = view.y(y);
      if (mine && dx === dx) own = { speed: Math.hypot(dx, dy) / Math.max(1, l - j), dx: dx / Math.max(1, l - j), dy: dy / Math.max(1, l - j) };
      pen.save(); pen.translate(px, py); if (way === way) pen.rotate(way);
      pen.beginPath(); pen.moveTo(0, -10); pen.lineTo(4.5, -2); pen.lineTo(4, 8); pen.lineTo(-4, 8); pen.lineTo(-4.5, -2); pen.closePath();
      pen.fillStyle = mine ? accent : hull; pen.strokeStyle = ink; pen.lineWidth = 1; pen.fill(); pen.stroke(); pen.restore();
      // Where boats lie together, one name stands for them.
      if (!mine && named.some(([qx, qy]) => Math.abs(qx - px) < 60 && Math.abs(qy - py) < 15)) return;
      named.push([px, py]);
      pen.fillStyle = mine ? accent : ink; pen.fillText(boat.name, px + 9, py - 6);
    });
    const blow = blowing();
    if (blow) arrow(pen, blow);
    if (took.push(performance.now() - begun) > 2000) took.shift();
    const second = Math.floor(time);
    if (second !== said) {
      said = second;
      place.dataset.frame = [...took].sort((a, b) => a - b)[Math.floor(took.length * 0.95)].toFixed(2);
      hand.value = String(second);
      const clock = new Date(second * 1000).toLocaleTimeString("en-GB", { timeZone: zone });
      hand.setAttribute("aria-valuetext", clock);
      const parts = [clock];
      if (blow) parts.push("wind from " + String(Math.round(blow[1]) % 360).padStart(3, "0") + "° ± " + Math.round(blow[2]) + "°" + (blow[3] ? ", " + Math.round(blow[3][0]) + " ± " + Math.round(blow[3][1]) + " knots" : ""));
      if (own) {
        parts.push((own.speed / 0.514444).toFixed(1) + " knots");
        if (blow) {
          const good = (own.dx * Math.sin(blow[1] * Math.PI / 180) + own.dy * Math.cos(blow[1] * Math.PI / 180)) / 0.514444;
          parts.push(Math.abs(good).toFixed(1) + (good > 0 ? " made good to windward" : " made good to leeward"));
        }
      }
      now.textContent = parts.join(", ");
    }
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
