"use strict";
// Moves the water of the drawing. page.js calls profileShow(state) whenever another arrangement or combination is to be seen; what a state does not
// say stays as it is. The drawing says everything without this script too: each thing has its numbers as its title.
const profileMove = (() => {
  const drawing = document.querySelector(".profile-box > svg");
  if (!drawing) return () => {};
  const figure = drawing.closest(".profile");
  const words = JSON.parse(document.getElementById("data").textContent).profile.words;
  const knots = JSON.parse(drawing.dataset.axis);
  const line = figure.querySelector(".profile-says");
  const select = figure.querySelector(".profile-paths");
  const stillFlow = 1e-7;  // m3/s
  const shown = {};        // the state as it stands, of all calls together

  const number = (value) => typeof value === "number" && isFinite(value);
  const spoken = (kind, value, plain) => (typeof say !== "undefined" && say[kind] ? say[kind](value) : plain(value));
  const flowOf = (value) => spoken("flow", value, (v) => (v * 60000).toPrecision(3) + " l/min");
  const levelOf = (value) => spoken("level", value, (v) => v.toFixed(3) + " m");
  const heightOf = (value) => spoken("height", value, (v) => Math.round(v * 1000) + " mm");
  const headOf = (value) => spoken("head", value, (v) => v.toPrecision(3) + " m");
  const velocityOf = (value) => spoken("velocity", value, (v) => v.toPrecision(3) + " m/s");
  const shareOf = (value) => Math.round(value * 100) + " %";

  // From an elevation to a place: straight between the knots, straight on beyond them.
  function placeOf(elevation) {
    const scale = (knots[1][1] - knots[0][1]) / (knots[0][0] - knots[1][0]);
    if (elevation >= knots[0][0]) return knots[0][1] - scale * (elevation - knots[0][0]);
    for (let i = 1; i < knots.length; i++) {
      const [topElevation, topPlace] = knots[i - 1], [lowElevation, lowPlace] = knots[i];
      if (elevation >= lowElevation) return topPlace + (lowPlace - topPlace) * (topElevation - elevation) / (topElevation - lowElevation);
    }
    const last = knots[knots.length - 1];
    return last[1] + scale * (last[0] - elevation);
  }
  const onDrawing = (elevation) => Math.min(Math.max(placeOf(elevation), 14), drawing.viewBox.baseVal.height - 14);

  // A clause of which something is not known is left out.
  function filled(clause, values, group) {
    let known = true;
    const text = clause.replace(/\{(\w+)\}/g, (_, name) => {
      const value = name in values ? values[name] : group ? group.getAttribute("data-says-" + name) : undefined;
      if (value === undefined || value === null || value === "" || value === "-") known = false;
      return value;
    });
    return known ? text : "";
  }
  function tell(group, clauses, values) {
    const parts = clauses.map((clause) => filled(clause, values, group)).filter(Boolean);
    const text = group.dataset.name + (parts.length ? ": " + parts.join(", ") : "");
    group.querySelector("title").textContent = text;
    group.setAttribute("aria-label", text);
    if (group.classList.contains("looked-at")) line.textContent = text;
  }
  const thingsOf = (kind) => drawing.querySelectorAll(".thing[data-" + kind + "]");
  const write = (group, part, text) => {
    const place = group.querySelector(part);
    if (place) place.textContent = text;
  };
  const flowing = (value) => number(value) && Math.abs(value) > stillFlow;

  function showVessel(group) {
    const i = group.dataset.vessel, floor = Number(group.dataset.floorM), rim = Number(group.dataset.rimM);
    let level = shown.level && shown.level[i], depth = shown.depth && shown.depth[i];
    if (!number(level) && number(depth)) level = floor + depth;
    if (!number(depth) && number(level)) depth = level - floor;
    const known = number(level), spill = shown.spill && shown.spill[i];
    const water = group.querySelector(".water"), low = placeOf(floor), top = Math.min(Math.max(placeOf(known ? level : floor), placeOf(rim)), low);
    water.setAttribute("y", top.toFixed(1));
    water.setAttribute("height", (low - top).toFixed(1));
    group.querySelector(".surface").setAttribute("transform", "translate(0 " + top.toFixed(1) + ")");
    group.classList.toggle("unknown", !known);
    group.classList.toggle("dry", known && depth < 0.0005);
    group.classList.toggle("spills", flowing(spill));
    write(group, ".depth", known ? heightOf(depth) : "-");
    const inflow = shown.inflow && shown.inflow[i];
    tell(group, words.vessel, {
      depth: known ? heightOf(depth) : "", level: known ? levelOf(level) : "", rim: known && rim > level ? heightOf(rim - level) : "",
      inflow: flowing(inflow) ? flowOf(Math.abs(inflow)) : "", spill: flowing(spill) ? flowOf(spill) : "", volume: "",
    });
  }

  function showPipe(group) {
    const i = group.dataset.pipe, flow = shown.flow[i], still = !flowing(flow), backwards = !still && flow < 0;
    const lines = [group, ...drawing.querySelectorAll('[data-line="' + i + '"]')];
    for (const one of lines) {
      one.classList.toggle("still", still);
      one.classList.toggle("backwards", backwards);
    }
    const arrow = group.querySelector(".arrow");
    if (arrow) {
      const angle = Number(arrow.dataset.angle) + (backwards ? 180 : 0);
      arrow.setAttribute("transform", arrow.getAttribute("transform").replace(/rotate\([^)]*\)/, "rotate(" + angle + ")"));
    }
    write(group, ".flow", still ? "" : flowOf(Math.abs(flow)));
    const bore = Number(group.dataset.boreM), from = group.dataset.from, to = group.dataset.to;
    tell(group, words.pipe, {
      still: still ? words.still : "", flow: still ? "" : flowOf(Math.abs(flow)), from: backwards ? to : from, to: backwards ? from : to,
      velocity: still || !(bore > 0) ? "" : velocityOf(Math.abs(flow) / (Math.PI * bore * bore / 4)), loss: "", fill: "",
    });
  }

  function showPump(group) {
    const i = group.dataset.pump, speed = shown.speed && shown.speed[i], flow = shown.pumpFlow && shown.pumpFlow[i], head = shown.pumpHead && shown.pumpHead[i];
    const runs = number(speed) ? speed > 0 : flowing(flow) || (number(head) && head > 0);
    group.classList.toggle("running", runs);
    group.classList.toggle("stopped", !runs);
    tell(group, words.pump, {
      stopped: runs ? "" : words.stopped, flow: runs && number(flow) ? flowOf(flow) : "", head: runs && number(head) ? headOf(head) : "", power: "",
      speed: runs && number(speed) && speed < 1 ? shareOf(speed) : "",
    });
  }

  function showValve(group) {
    const opening = shown.opening[group.dataset.valve];
    if (!number(opening)) return;
    const state = opening <= 0.0005 ? "shut" : opening >= 0.995 ? "open" : "throttled";
    for (const one of ["shut", "open", "throttled"]) group.classList.toggle(one, one === state);
    write(group, ".opening", state === "open" ? "" : state === "shut" ? words.shut : shareOf(opening));
    tell(group, words.valve, {opening: state === "open" ? words.open : state === "shut" ? words.shut : shareOf(opening)});
  }

  function showStandpipe(group) {
    const lips = group.dataset.lips.split(" ").map(Number), floor = Number(group.dataset.floorM), lip = lips[shown.insert[group.dataset.standpipe]];
    if (!number(lip)) return;
    const tube = group.querySelector(".tube"), foot = placeOf(floor), top = placeOf(lip);
    tube.setAttribute("y", top.toFixed(1));
    tube.setAttribute("height", Math.max(0, foot - top).toFixed(1));
    group.querySelector(".lip").setAttribute("transform", "translate(0 " + top.toFixed(1) + ")");
    tell(group, words.standpipe, {lip: heightOf(lip - floor), flow: "", others: lips.filter((other) => other !== lip).map((other) => heightOf(other - floor)).join(", ")});
  }

  function showTee(group) {
    const head = shown.tee[group.dataset.tee];
    tell(group, words.tee, {head: number(head) ? headOf(head) : "", pressure: ""});
  }

  // The line of head along the way that is chosen.
  const svgElement = (name, attributes) => {
    const made = document.createElementNS("http://www.w3.org/2000/svg", name);
    for (const key in attributes) made.setAttribute(key, attributes[key]);
    return made;
  };
  function headAt(point) {
    const level = shown.level && point.vessel !== undefined ? shown.level[point.vessel] : undefined;
    if (point.follows === "level" && shown.level) return level;
    if (point.follows === "end" && shown.level) return number(level) ? Math.max(level, point.port) : point.port;
    if (point.follows === "tee" && shown.tee) return shown.tee[point.index];
    if (point.follows === "answer" && Object.keys(shown).length) return null;
    if (point.follows === "pump" && shown.pumpHead) {
      const from = point.vessel === undefined ? point.port : level, head = shown.pumpHead[point.index];
      return number(from) && number(head) ? from + head : null;
    }
    return point.head;
  }
  function showHead() {
    if (!select) return;
    const group = drawing.querySelector(".head"), option = select.options[select.selectedIndex];
    const path = option && option.dataset.path ? JSON.parse(option.dataset.path) : {points: [], pipes: []};
    const marks = svgElement("g", {class: "head-marks"}), corners = [];
    for (const point of path.points) {
      const head = headAt(point);
      if (!number(head)) continue;
      const y = onDrawing(head).toFixed(1), mark = svgElement("circle", {class: "head-mark", cx: point.x, cy: y, r: 3}), title = svgElement("title", {});
      title.textContent = filled(words.corner, {at: point.name, head: levelOf(head)});
      mark.append(title);
      marks.append(mark);
      corners.push(point.x + " " + y);
    }
    const drawn = svgElement("path", {class: "head-line", d: corners.length > 1 ? "M" + corners.join("L") : ""});
    group.replaceChildren(drawn, marks);
    figure.querySelector(".profile-way").textContent = corners.length > 1 ? filled(words.way, {way: option.textContent}) : "";
    for (const one of drawing.querySelectorAll(".on-path")) one.classList.remove("on-path");
    for (const pipe of path.pipes)
      for (const one of drawing.querySelectorAll('[data-line="' + pipe + '"], .thing[data-pipe="' + pipe + '"]')) one.classList.add("on-path");
  }

  // Pointing, touching and stepping through: the numbers stand under the drawing.
  function lookAt(event) {
    const group = event.target.closest && event.target.closest(".thing");
    const mark = event.target.classList && event.target.classList.contains("head-mark") ? event.target : null;
    if (mark) line.textContent = mark.querySelector("title").textContent;
    if (!group) return;
    for (const one of drawing.querySelectorAll(".looked-at")) one.classList.remove("looked-at");
    group.classList.add("looked-at");
    line.textContent = group.getAttribute("aria-label");
  }
  for (const kind of ["pointerover", "focusin", "click"]) drawing.addEventListener(kind, lookAt);
  if (select) {
    select.closest(".profile-choice").hidden = false;
    select.addEventListener("change", showHead);
  }

  return (state) => {
    for (const key in state) if (state[key] !== undefined && state[key] !== null) shown[key] = state[key];
    if (shown.level || shown.depth) thingsOf("vessel").forEach(showVessel);
    if (shown.flow) thingsOf("pipe").forEach(showPipe);
    if (shown.speed || shown.pumpFlow || shown.pumpHead) thingsOf("pump").forEach(showPump);
    if (shown.opening) thingsOf("valve").forEach(showValve);
    if (shown.insert) thingsOf("standpipe").forEach(showStandpipe);
    if (shown.tee) thingsOf("tee").forEach(showTee);
    showHead();
  };
})();
function profileShow(state) { profileMove(state); }
