// One crate of the plan: the sow by her shape, her trough, her litter, what has just happened and who works there.

import { inUnit } from "./words.js";

const SVG = "http://www.w3.org/2000/svg";
const A_ROW = 10; // piglets
const STEP = 8.4;
const PRESENT = new Set(["before farrowing", "farrowing", "nursing"]);
const HEAD = "M34 29l-11 6v12l11 6z";
const HEAD_AT_TROUGH = "M34 29l-18 6v12l18 6z";
const TROUGH = { x: 5, y: 24, width: 11, height: 34 };

export const drawn = (name, attributes, parent) => {
  const element = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, value);
  if (parent) parent.append(element);
  return element;
};

export const made = (name, className, parent, text) => {
  const element = document.createElement(name);
  if (className) element.className = className;
  if (text !== undefined) element.textContent = text;
  if (parent) parent.append(element);
  return element;
};

// Changes the page only where it would look different.
const seen = new WeakMap();
const set = (element, key, value) => {
  if (!seen.has(element)) seen.set(element, {});
  const values = seen.get(element);
  if (values[key] === value) return;
  values[key] = value;
  if (key === "text") element.textContent = value;
  else element.setAttribute(key, value);
};

const spot = (i) => [32 + STEP * (i % A_ROW), 66 + STEP * Math.floor(i / A_ROW)];

// Own piglets are round, those moved in are square, the dead are crosses.
const litterPaths = ({ own, movedIn, died, stillborn }) => {
  let [round, square, cross] = ["", "", ""];
  for (let i = 0; i < own + movedIn + died + stillborn; i++) {
    const [x, y] = spot(i);
    if (i < own) round += `M${x - 3.2} ${y}a3.2 3.2 0 1 0 6.4 0a3.2 3.2 0 1 0 -6.4 0`;
    else if (i < own + movedIn) square += `M${x - 3.1} ${y - 3.1}h6.2v6.2h-6.2z`;
    else cross += `M${x - 2.6} ${y - 2.6}l5.2 5.2m0 -5.2l-5.2 5.2`;
  }
  return [round, square, cross];
};

export class Crate {
  constructor(number, parent, choose) {
    this.button = made("button", "crate", parent);
    this.button.type = "button";
    this.button.addEventListener("click", () => choose(number));
    const svg = drawn("svg", { viewBox: "0 0 116 112", "aria-hidden": "true", focusable: "false" }, this.button);
    this.label = drawn("text", { x: 5, y: 14, class: "number" }, svg);
    this.label.textContent = number;
    this.phase = drawn("text", { x: 112, y: 14, class: "phase", "text-anchor": "end" }, svg);
    this.feed = drawn("rect", { ...TROUGH, class: "feed" }, svg);
    this.trough = drawn("rect", { ...TROUGH, class: "trough" }, svg);
    this.kg = drawn("text", { x: 4, y: 69, class: "small" }, svg);
    this.sow = drawn("g", { class: "sow" }, svg);
    drawn("path", { class: "body", d: "M34 27h52q22 1 22 14t-22 14h-52z" }, this.sow);
    this.head = drawn("path", { class: "head", d: HEAD }, this.sow);
    drawn("path", { class: "over", d: "M36 28l64 26m0 -26l-64 26" }, this.sow);
    this.ill = drawn("g", { class: "ill" }, svg);
    drawn("path", { d: "M96 19l9 15h-18z" }, this.ill);
    drawn("text", { x: 96, y: 32, "text-anchor": "middle" }, this.ill).textContent = "!";
    [this.own, this.movedIn, this.died] = ["own", "moved", "dead"].map((kind) => drawn("path", { class: kind }, svg));
    this.mark = drawn("text", { x: 5, y: 93, class: "mark" }, svg);
    this.person = drawn("path", { class: "person", d: "M8 103l4.5 8h-9zM8 104a2.8 2.8 0 1 0 -.01 0z" }, svg);
    this.task = drawn("text", { x: 15, y: 109, class: "task" }, svg);
  }

  show(sow, phases, fullest, tasks, unit) {
    const phase = phases[sow.phase];
    const present = PRESENT.has(phase);
    set(this.button, "data-phase", phase);
    set(this.button, "data-ill", String(present && sow.ill));
    set(this.phase, "text", phase === "not here" || phase === "weaned" ? `(${phase})` : phase);
    const share = !present ? 0 : sow.fullAccess ? 1 : sow.troughGrams / fullest;
    const height = Math.round(TROUGH.height * share * 10) / 10;
    set(this.feed, "y", String(TROUGH.y + TROUGH.height - height));
    set(this.feed, "height", String(height));
    set(this.feed, "data-full", String(present && sow.fullAccess));
    set(this.kg, "text", !present || sow.fullAccess ? "" : inUnit(sow.troughGrams / 1000, unit));
    set(this.head, "d", present && sow.eating ? HEAD_AT_TROUGH : HEAD);
    const { own: ownPiglets, movedIn: guests } = sow.litter;
    const [own, movedIn, dead] = present || ownPiglets + guests > 0 ? litterPaths(sow.litter) : ["", "", ""];
    set(this.own, "d", own);
    set(this.movedIn, "d", movedIn);
    set(this.died, "d", dead);
    set(this.mark, "text", sow.mark);
    set(this.mark, "data-kind", sow.mark);
    set(this.person, "data-there", String(tasks.length > 0));
    set(this.task, "text", tasks.join(", "));
  }

  describe(words, isChosen) {
    set(this.button, "aria-label", words);
    set(this.button, "aria-pressed", String(isChosen));
  }
}
