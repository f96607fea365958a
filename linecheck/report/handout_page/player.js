"use strict";
(() => {
  const take = JSON.parse(document.getElementById("take").textContent);
  const find = (id) => document.getElementById(id);
  const all = (selector) => Array.from(document.querySelectorAll(selector));
  const indexOf = new Map(take.bars.map((bar, index) => [bar[0], index]));
  const boxes = take.bars.map(() => []);
  for (const box of all(".bar")) boxes[indexOf.get(box.dataset.at)].push(box);
  const heads = take.notes.map(() => []);
  for (const head of all(".ink [data-n]")) heads[Number(head.dataset.n)].push(head);

  const start = Math.max(take.bars.findIndex((bar) => bar[3] === 1), 0);  // beat one of chorus 1
  const AHEAD_S = 0.25, TICK_MS = 50;
  const recording = find("recording"), APART_S = 0.1;  // a recording may be so far from the clock
  const EARLY_S = 0.06;                 // a note so much before the bar line is still of the bar
  let audio = null, press = null, out = null, timer = 0, frame = 0;
  let playing = false, paused = 0;      // seconds of the take
  let anchors = [{ take: 0, audio: 0 }], rate = 1;  // what sounds now first, what is planned last
  let next = { note: 0, chord: 0, beat: 0 };
  let current = 0;                      // index of the bar
  let loop = null;                      // [begin, end] in seconds of the take
  let sounding = new Set(), lit = [];

  // ---- sound ---------------------------------------------------------------------------------

  function wake() {
    if (!audio) {
      audio = new AudioContext();
      press = audio.createDynamicsCompressor();
      press.connect(audio.destination);
      open();
    }
    return audio.resume();
  }

  function open() {
    out = audio.createGain();
    out.gain.value = 0.9;
    out.connect(press);
  }

  const hertz = (pitch) => 440 * 2 ** ((pitch - 69) / 12);

  function voice(kind, frequency, level, at, attack, length, release, cutoff) {
    const tone = audio.createOscillator(), gain = audio.createGain(), filter = audio.createBiquadFilter();
    tone.type = kind;
    tone.frequency.value = frequency;
    filter.type = "lowpass";
    filter.frequency.setValueAtTime(cutoff, at);
    filter.frequency.exponentialRampToValueAtTime(Math.max(cutoff / 3, 90), at + Math.max(length, 0.08));
    gain.gain.setValueAtTime(0, at);
    gain.gain.linearRampToValueAtTime(level, at + attack);
    gain.gain.exponentialRampToValueAtTime(level * 0.35, at + Math.max(length, attack + 0.02));
    gain.gain.linearRampToValueAtTime(0, at + Math.max(length, attack + 0.02) + release);
    tone.connect(filter).connect(gain).connect(out);
    tone.start(at);
    tone.stop(at + length + release + 0.05);
    sounding.add(tone);
    tone.onended = () => { sounding.delete(tone); gain.disconnect(); };
  }

  function pluck([, seconds, pitch, loudness, ghost], at) {
    const level = 0.5 * (loudness / 127) ** 1.3;
    const length = seconds / rate;
    if (ghost) {
      voice("triangle", hertz(pitch), level * 0.8, at, 0.004, 0.04, 0.03, 300);
      return;
    }
    voice("triangle", hertz(pitch), level, at, 0.008, length, 0.06, 1400);
    // The upper partials let a small loudspeaker tell the pitch of a low string.
    voice("sawtooth", hertz(pitch), level * 0.45, at, 0.004, length, 0.05, 900);
    voice("sine", hertz(pitch) * 2, level * 0.25, at, 0.008, length * 0.6, 0.05, 2000);
  }

  function pad([begin, end, pitches], at, late) {
    const length = Math.max((end - begin - late) / rate - 0.05, 0.05);
    for (const pitch of pitches) voice("triangle", hertz(pitch), 0.05, at, 0.03, length, 0.12, 1600);
  }

  const tick = (at) => voice("square", 1600, 0.05, at, 0.001, 0.02, 0.02, 4000);

  // ---- time ----------------------------------------------------------------------------------

  const lastNote = take.notes.at(-1);
  const end = Math.max(take.bars.at(-1)?.[2] ?? 0, lastNote ? lastNote[0] + lastNote[1] : 0);
  const atAudio = (seconds) => anchors.at(-1).audio + (seconds - anchors.at(-1).take) / rate;

  function now() {
    if (!playing) return paused;
    while (anchors.length > 1 && anchors[1].audio <= audio.currentTime) anchors.shift();
    return anchors[0].take + (audio.currentTime - anchors[0].audio) * rate;
  }

  function firstFrom(list, start, of) {
    let low = 0, high = list.length;
    while (low < high) {
      const middle = (low + high) >> 1;
      if (of(list[middle]) < start) low = middle + 1; else high = middle;
    }
    return low;
  }

  function seek(seconds) {
    anchors = [{ take: seconds, audio: audio.currentTime + 0.03 + EARLY_S / rate }];
    next = nextFrom(seconds);
  }

  const nextFrom = (seconds) => ({
    note: firstFrom(take.notes, seconds - EARLY_S, (n) => n[0]),
    chord: firstFrom(take.chords, seconds + 0.001, (c) => c[1]),
    beat: firstFrom(take.beats, seconds - 0.001, (b) => b),
  });

  // The recording follows the clock of the beats: at its tempo, from its place, in its loop.
  function keepUp() {
    if (!recording) return;
    if (!playing || !find("hear-recording").checked) { recording.pause(); return; }
    const at = Math.max(now(), 0);
    recording.playbackRate = rate;
    if (Math.abs(recording.currentTime - at) > APART_S) recording.currentTime = at;
    if (recording.paused && !recording.ended) recording.play().catch(() => say("The recording cannot be played here"));
  }

  function schedule() {
    const horizon = audio.currentTime + AHEAD_S;
    plan(horizon);
    while (loop && atAudio(loop[1]) < horizon) {
      // The next pass follows on the very beat, planned before the one that sounds is over.
      anchors.push({ take: loop[0], audio: atAudio(loop[1]) });
      next = nextFrom(loop[0]);
      plan(horizon);
    }
    keepUp();
    if (!loop && now() > end + 0.3) { current = start; halt(); find("where").textContent = words(start); }
  }

  function plan(horizon) {
    const begin = anchors.at(-1).take;
    const due = (seconds) => atAudio(seconds) < horizon && seconds < (loop ? loop[1] - EARLY_S : Infinity);
    const when = (seconds) => Math.max(atAudio(seconds), audio.currentTime);
    while (next.note < take.notes.length && due(take.notes[next.note][0])) {
      const note = take.notes[next.note++];
      if (find("hear-line").checked) pluck(note, when(note[0]));
    }
    while (next.chord < take.chords.length && due(take.chords[next.chord][0])) {
      const chord = take.chords[next.chord++];
      if (find("hear-chords").checked) pad(chord, when(Math.max(chord[0], begin)), Math.max(begin - chord[0], 0));
    }
    while (next.beat < take.beats.length && due(take.beats[next.beat])) {
      const at = when(take.beats[next.beat++]);
      if (find("hear-beat").checked) tick(at);
    }
  }

  // What sounds fades within a few hundredths of a second: a sudden stop would click.
  function hush() {
    if (!audio) return;
    out.gain.setTargetAtTime(0, audio.currentTime, 0.01);
    for (const tone of sounding) tone.stop(audio.currentTime + 0.06);
    sounding.clear();
    const old = out;
    setTimeout(() => old.disconnect(), 200);
    open();
  }

  // ---- the controls --------------------------------------------------------------------------

  function findLoop(index) {
    const span = find("repeat").value, bar = take.bars[index];
    if (!bar || span === "0") return null;
    if (span === "all") {
      const same = take.bars.filter((b) => b[3] === bar[3]);
      return [same[0][1], same.at(-1)[2]];
    }
    return [bar[1], take.bars[Math.min(index + Number(span), take.bars.length) - 1][2]];
  }

  async function playFrom(seconds) {
    await wake();
    hush();
    clearInterval(timer);
    cancelAnimationFrame(frame);
    playing = true;
    seek(seconds);
    timer = setInterval(schedule, TICK_MS);
    schedule();
    follow();
    show();
    say(`Playing from ${words(current)}`);
  }

  function playBar(index) {
    current = index;
    loop = findLoop(index);
    mark(index);
    return playFrom(take.bars[index][1]);
  }

  function pause() {
    paused = now();
    playing = false;
    quiet();
    say(`Paused in ${words(current)}`);
  }

  function halt() {
    playing = false;
    paused = take.bars[current] ? take.bars[current][1] : 0;
    for (const box of all(".bar.now")) box.classList.remove("now");
    quiet();
    say("Stopped");
  }

  function quiet() {
    clearInterval(timer);
    cancelAnimationFrame(frame);
    hush();
    keepUp();
    light([]);
    show();
  }

  function words(index) {
    const bar = take.bars[index];
    if (!bar) return "";
    if (bar[3] === 0) return "Lead-in";
    return `Chorus ${bar[3]}, bar ${bar[4]}`;
  }

  // Told to those who hear the page when it begins and ends, not at every bar over the music.
  const say = (text) => { find("said").textContent = text; };

  function show() {
    const button = find("play");
    button.querySelector("span").textContent = playing ? "Pause" : "Play";
    button.querySelector("path").setAttribute("d", playing ? "M5 4H10V20H5ZM14 4H19V20H14Z" : "M6 4L20 12L6 20Z");
    find("stop").disabled = !playing && !all(".bar.now").length;
    document.body.dataset.playing = String(playing);
  }

  function mark(index) {
    for (const box of all(".bar.now")) box.classList.remove("now");
    for (const box of boxes[index] ?? []) box.classList.add("now");
    current = index;
    find("where").textContent = words(index);
  }

  function light(notes) {
    for (const index of lit) for (const head of heads[index]) head.classList.remove("now");
    for (const index of notes) for (const head of heads[index]) head.classList.add("now");
    lit = notes;
  }

  const visible = (list) => list.find((box) => box.getClientRects().length) ?? list[0];
  const calm = matchMedia("(prefers-reduced-motion: reduce)");

  function reveal(box, block) {
    box?.scrollIntoView({ block, behavior: calm.matches ? "auto" : "smooth" });
  }

  function follow() {
    if (!playing) return;
    const at = now();
    const index = Math.max(firstFrom(take.bars, at + 0.0005, (b) => b[1]) - 1, 0);
    if (index !== current || !boxes[index]?.[0]?.classList.contains("now")) {
      mark(index);
      const box = visible(boxes[index]);
      const { top, bottom } = box.getBoundingClientRect();
      if (top < 0 || bottom > innerHeight - 120) reveal(box, "center");
    }
    const note = firstFrom(take.notes, at + 0.0005, (n) => n[0]) - 1;
    const on = note >= 0 && take.notes[note][0] + take.notes[note][1] > at ? [note] : [];
    if (on[0] !== lit[0]) light(on);
    frame = requestAnimationFrame(follow);
  }

  find("play").addEventListener("click", () => {
    if (playing) pause();
    else if (paused > take.bars[current][1] && paused < take.bars[current][2]) playFrom(paused);
    else playBar(current);
  });
  find("more").addEventListener("click", () => {
    const open = document.querySelector(".player").classList.toggle("open");
    find("more").setAttribute("aria-expanded", String(open));
  });
  find("stop").addEventListener("click", halt);
  find("repeat").addEventListener("change", () => { loop = findLoop(current); });
  find("rate").addEventListener("input", () => {
    const at = now();
    rate = Number(find("rate").value) / 100;
    find("rate-text").textContent = `${find("rate").value} %, ${Math.round(take.tempo * rate)} ${take.a_minute}`;
    if (playing) { hush(); seek(at); }
  });

  // ---- bars: click, keys and links -----------------------------------------------------------

  function enter(box, { play }) {
    const index = indexOf.get(box.dataset.at);
    focusable(box);
    if (play) playBar(index);
  }

  function focusable(box) {
    for (const other of box.closest(".chorus").querySelectorAll(".bar")) other.setAttribute("tabindex", "-1");
    box.setAttribute("tabindex", "0");
  }

  for (const chorus of all(".chorus")) {
    for (const side of [".sheet", ".phone"]) chorus.querySelector(`${side} .bar`)?.setAttribute("tabindex", "0");
  }

  document.addEventListener("click", (event) => {
    const link = event.target.closest("a[href^='#c']");
    const id = link?.getAttribute("href").slice(1);
    if (link && indexOf.has(id)) {
      event.preventDefault();
      const box = visible(boxes[indexOf.get(id)]);
      reveal(box, "center");
      focusable(box);
      box.focus({ preventScroll: true });
      if (link.dataset.play) playBar(indexOf.get(id)); else mark(indexOf.get(id));
      return;
    }
    const label = event.target.closest(".label");
    const box = event.target.closest(".bar") ?? (label && barOf(label));
    if (box) enter(box, { play: true });
  });

  function barOf(label) {
    const x = label.getBoundingClientRect();
    return Array.from(label.closest("svg").querySelectorAll(".bar")).find((box) => {
      const side = box.getBoundingClientRect();
      return side.left <= x.left + x.width / 2 && x.left + x.width / 2 <= side.right;
    });
  }

  document.addEventListener("keydown", (event) => {
    if (event.key === "Escape") { halt(); return; }
    const box = event.target.closest?.(".bar");
    if (!box || event.altKey || event.ctrlKey || event.metaKey) return;
    const row = Array.from(box.closest(".sheet, .phone").querySelectorAll(".bar"));
    const at = row.indexOf(box), wide = box.closest("svg").querySelectorAll(".bar").length;
    const to = { ArrowLeft: at - 1, ArrowRight: at + 1, ArrowUp: at - wide, ArrowDown: at + wide,
      Home: 0, End: row.length - 1 }[event.key];
    if (event.key === "Enter" || event.key === " ") {
      event.preventDefault();
      enter(box, { play: true });
    } else if (to !== undefined) {
      event.preventDefault();
      const target = row[Math.min(Math.max(to, 0), row.length - 1)];
      focusable(target);
      target.focus();
    }
  });

  if (take.bars.length) {
    find("rate-text").textContent = `100 %, ${Math.round(take.tempo)} ${take.a_minute}`;
    document.querySelector(".player").hidden = false;
    current = start;
    find("where").textContent = words(current);
  }
})();
