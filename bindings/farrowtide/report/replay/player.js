// The clock and its controls.

import { made } from "./crate.js";
import { decode, fullestTrough } from "./decode.js";
import { RoomPlan } from "./room.js";
import { SowPanel } from "./sow.js";
import { drawMarks, kindsOf, nextEvent } from "./timeline.js";
import { momentOf } from "./words.js";

const MINUTE_S = 60;
const SETTLED_MS = 350; // without a change, before words for screen readers are written
const FOLLOWS_EVERY_MS = 250;
const FIRST_SHOWN = "labour began";
const byId = (id) => document.getElementById(id);

const data = JSON.parse(byId("replay-data").textContent);
const rooms = data.rooms.map(decode);
const end = Math.max(...rooms.map((room) => room.end));
const calm = matchMedia("(prefers-reduced-motion: reduce)");
const controls = Object.fromEntries(
  ["play", "speed", "clock", "time", "kind", "previous", "next", "only-chosen", "found", "sow", "meals", "now", "back", "forward"].map((id) => [id, byId(id)]),
);
const plans = rooms.map((room) => new RoomPlan(room, byId("rooms"), { ...data, fullest: fullestTrough(rooms), choose }));
const panel = new SowPanel(rooms, byId("stories"), { ...data, seek: (t) => seek(Math.ceil(t / MINUTE_S) * MINUTE_S) });

let t = 0;
let playing = false;
let lastFrame = 0;
let settled = 0;
let followed = 0;

const chosen = () => Number(controls.sow.value);

const show = () => {
  for (const plan of plans) plan.show(t);
  panel.t = t;
  panel.show(new Map(plans.map((plan) => [plan.room, plan.state])));
  const moment = momentOf(data.start, t);
  if (controls.clock.textContent !== moment) controls.clock.textContent = moment;
  if (performance.now() - followed > FOLLOWS_EVERY_MS) {
    panel.follow();
    followed = performance.now();
  }
};

const describe = () => {
  panel.follow();
  controls.time.setAttribute("aria-valuetext", momentOf(data.start, t));
  controls.now.textContent = `${momentOf(data.start, t)}. ${plans.map((plan) => plan.describe(chosen())).join(" ")}`;
};

const describeSoon = () => {
  clearTimeout(settled);
  if (!playing) settled = setTimeout(describe, SETTLED_MS);
};

function seek(to) {
  t = Math.min(Math.max(to, 0), end);
  controls.time.value = String(Math.floor(t / MINUTE_S));
  show();
  describeSoon();
}

function choose(number) {
  controls.sow.value = String(number);
  panel.choose(number, controls.meals.checked);
  show();
  describe();
}

const advance = (seconds) => {
  seek(t + Number(controls.speed.value) * MINUTE_S * seconds);
  if (t >= end) play(false);
};

const frame = (time) => {
  if (!playing) return;
  const passed = (time - lastFrame) / 1000;
  if (!calm.matches || passed >= 1) {
    // Where motion is not wanted the clock steps once a second; a page that was hidden does not leap.
    advance(Math.min(passed, calm.matches ? 1 : 0.1));
    lastFrame = time;
  }
  requestAnimationFrame(frame);
};

const play = (wanted) => {
  playing = wanted;
  controls.play.textContent = playing ? "Pause" : "Play";
  document.body.dataset.playing = String(playing);
  if (playing && t >= end) seek(0);
  if (playing) {
    requestAnimationFrame((time) => {
      lastFrame = time;
      frame(time);
    });
  } else {
    describeSoon();
  }
};

const jump = (direction) => {
  const sow = controls["only-chosen"].checked ? chosen() : null;
  const time = nextEvent(rooms, t, direction, controls.kind.value, sow);
  play(false);
  controls.found.textContent = time === null ? `no ${direction > 0 ? "later" : "earlier"} one` : "";
  if (time !== null) seek(time);
};

for (const [group, kinds] of kindsOf(rooms)) {
  const options = made("optgroup", "", controls.kind);
  options.label = group;
  for (const [kind, count] of kinds) made("option", "", options, `${kind} (${count})`).value = kind;
}
if (controls.kind.querySelector(`[value="${FIRST_SHOWN}"]`)) controls.kind.value = FIRST_SHOWN;
for (const number of [...new Set(rooms.flatMap((room) => room.sows.number))].sort((a, b) => a - b)) {
  made("option", "", controls.sow, String(number)).value = String(number);
}
controls.time.max = String(Math.ceil(end / MINUTE_S));
drawMarks(byId("marks"), rooms, end);

controls.time.addEventListener("input", () => seek(Number(controls.time.value) * MINUTE_S));
controls.time.addEventListener("keydown", (event) => {
  const action = { " ": () => play(!playing), n: () => jump(1), p: () => jump(-1) }[event.key];
  if (!action || event.ctrlKey || event.altKey || event.metaKey) return;
  event.preventDefault();
  action();
});
controls.play.addEventListener("click", () => play(!playing));
controls.back.addEventListener("click", () => seek(t - 10 * MINUTE_S));
controls.forward.addEventListener("click", () => seek(t + 10 * MINUTE_S));
controls.next.addEventListener("click", () => jump(1));
controls.previous.addEventListener("click", () => jump(-1));
controls.sow.addEventListener("change", () => choose(chosen()));
controls.meals.addEventListener("change", () => choose(chosen()));

choose(chosen());
seek(Math.min(...rooms.map((room) => room.phases.t[0] ?? 0)));
describe();
performance.mark("drawn");
document.body.dataset.ready = "true";
