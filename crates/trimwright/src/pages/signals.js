// Counts down to a start in big digits and sounds its signals, from a page kept open. Without it the page's own list of times does.
//
// Every element with `data-signals` is begun by itself; `window.signals(element)` begins one that came later. It needs nothing else.
//   data-signals  a list in JSON, the first signal first: {"before": seconds before the start, "says": words, "blasts": how many, "long": true or false};
//                 one without words is sounded only
//   data-start    the start in ms since 1970, where it is known already: then it counts at once
// Inside, each where it is wanted: data-part = "hand" (hidden until there is a script), "clock", "next", "told", and the buttons "go" (the first
// signal is now), "minute" (to the nearest whole minute), "stop" and "sound"; an element with data-before = the seconds of a signal is marked as it passes.
"use strict";
window.signals = (root) => {
  const list = JSON.parse(root.dataset.signals);
  const part = (name) => root.querySelector(`[data-part=${name}]`);
  const say = (name, text) => { const at = part(name); if (at && at.textContent !== text) at.textContent = text; };
  // A look that comes later than this was asleep between, s: what should have sounded then is told, not sounded late.
  const ASLEEP = 1.5;
  let start = Number(root.dataset.start) || null, last = null, timer = null, audio = null, awake = null;

  const shown = (seconds) => {
    const whole = Math.abs(Math.ceil(seconds));
    const [h, m, s] = [Math.floor(whole / 3600), Math.floor(whole / 60) % 60, whole % 60];
    const two = (n) => String(n).padStart(2, "0");
    return `${Math.ceil(seconds) < 0 ? "+" : ""}${h ? `${h}:${two(m)}` : m}:${two(s)}`;
  };
  const blast = (at, seconds) => {
    const [tone, gain] = [audio.createOscillator(), audio.createGain()];
    tone.type = "square";
    tone.frequency.value = 880;
    gain.gain.setValueAtTime(0.5, at);
    gain.gain.setValueAtTime(0, at + seconds);
    tone.connect(gain).connect(audio.destination);
    tone.start(at);
    tone.stop(at + seconds + 0.05);
  };
  const sound = (signal) => {
    const each = signal.long ? 0.8 : 0.25;
    if (audio && audio.state === "running") for (let n = 0; n < signal.blasts; n++) blast(audio.currentTime + n * (each + 0.2), each);
    if (navigator.vibrate) navigator.vibrate(Array(signal.blasts).fill([each * 1000, 200]).flat());
  };
  const heard = () => (audio && audio.state === "running" ? "Sound is on, as loud as this device is set." : "Sound is off: press Sound.");
  const kept = () => (awake && !awake.released ? "The screen is kept on." : "This browser does not keep the screen on: a locked phone counts on but sounds nothing.");

  const look = () => {
    const left = (start - Date.now()) / 1000;
    say("clock", shown(left));
    const coming = list.find((signal) => signal.says && signal.before < left);
    say("next", coming ? `next: ${coming.says}, in ${shown(left - coming.before)}` : left > -1 ? "" : "since the start");
    const slept = last !== null && last - left > ASLEEP;
    let missed = 0;
    for (const signal of list) {
      if (last !== null && last > signal.before && left <= signal.before) {
        if (slept && left < signal.before - ASLEEP) missed += 1;
        else { sound(signal); if (signal.says) say("told", `${signal.says}. ${heard()} ${kept()}`); }
      }
    }
    if (missed) say("told", `This page slept for ${Math.round(last - left)} seconds and sounded nothing: ${missed} signals went by. The clock is right.`);
    for (const row of root.querySelectorAll("[data-before]")) row.toggleAttribute("data-past", Number(row.dataset.before) >= left);
    last = left;
  };
  const hold = async () => { try { awake = await navigator.wakeLock.request("screen"); } catch { awake = null; } };
  const begin = async (at) => {
    start = at;
    last = null;
    clearInterval(timer);
    look();
    timer = setInterval(look, 100);
    await hold();
    say("told", `${heard()} ${kept()}`);
  };
  const listen = () => { const Audio = window.AudioContext || window.webkitAudioContext; if (Audio) { audio ??= new Audio(); return audio.resume(); } return null; };
  const press = (name, does) => part(name)?.addEventListener("click", does);
  press("go", () => {
    listen();
    begin(Date.now() + list[0].before * 1000);
    last = list[0].before + 0.01;
  });
  press("minute", () => { if (start) begin(Date.now() + Math.round((start - Date.now()) / 60000) * 60000); });
  press("stop", () => {
    clearInterval(timer);
    [start, last, timer] = [null, null, null];
    awake?.release();
    say("clock", shown(list[0].before));
    say("next", "");
    say("told", "Stopped.");
    for (const row of root.querySelectorAll("[data-past]")) row.removeAttribute("data-past");
  });
  press("sound", async () => {
    await listen();
    sound({ blasts: 1, long: false });
    say("told", `${audio ? heard() : "This browser makes no sound."} Did you hear it? ${kept()}`);
  });
  // A page that was out of sight may have lost the screen and slept.
  document.addEventListener("visibilitychange", () => { if (timer && document.visibilityState === "visible") { hold(); look(); } });
  const hand = part("hand");
  if (hand) hand.hidden = false;
  say("clock", shown(list[0].before));
  if (start) begin(start);
};
for (const root of document.querySelectorAll("[data-signals]")) window.signals(root);
