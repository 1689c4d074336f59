"use strict";
// Switches and arrangements: which solved state is shown. Everything shown was solved beforehand; nothing is interpolated. The words are data.words.
const data = JSON.parse(document.getElementById("data").textContent);

// Figures as the other commands say them (Speech, in the program).
const say = (() => {
  const u = data.units, none = "-";
  const known = (v) => v !== null && v !== undefined && Number.isFinite(v);
  const fixed = (v, n) => { const t = v.toFixed(n); return /^-[0.]*$/.test(t) ? t.slice(1) : t; };
  const three = (v) => {
    const size = Math.abs(v);
    return size < 0.0005 ? "0" : fixed(v, size >= 99.95 ? 0 : size >= 9.995 ? 1 : size >= 0.9995 ? 2 : 3);
  };
  const say = {
    flow: (v) => !known(v) ? none : u.us ? three(v * u.flow) + " gpm" : Math.abs(v * u.flow) >= 1000 ? three(v * u.flow_large) + " m3/h" : three(v * u.flow) + " l/min",
    level: (v) => {
      if (!known(v)) return none;
      if (!u.us) return fixed(v, 3) + " m";
      const tenths = Math.round(Math.abs(v * u.inches) * 10), feet = Math.floor(tenths / 120), inches = tenths / 10 - feet * 12, sign = v < 0 && tenths > 0 ? "-" : "";
      return feet > 0 ? sign + feet + " ft " + fixed(inches, 1) + " in" : sign + fixed(inches, 1) + " in";
    },
    height: (v) => !known(v) ? none : u.us ? fixed(v * u.inches, 1) + " in" : fixed(v * 1000, 0) + " mm",
    head: (v) => !known(v) ? none : u.us ? fixed(v * u.feet, 2) + " ft" : fixed(v, 2) + " m",
    velocity: (v) => !known(v) ? none : u.us ? fixed(v * u.feet, 2) + " ft/s" : fixed(v, 2) + " m/s",
    power: (v) => known(v) ? three(v) + " W" : none,
    duration: (v) => {  // as netfiles::format_duration
      if (!known(v)) return none;
      const whole = Math.round(v), two = (n) => String(n).padStart(2, "0");
      if (v < 9.95) return (v ? v.toPrecision(2) : "0") + " s";
      if (whole < 100) return whole + " s";
      if (whole < 3600) return Math.floor(whole / 60) + " min" + (whole % 60 ? " " + two(whole % 60) + " s" : "");
      const minutes = Math.round(whole / 60);
      if (whole < 48 * 3600) return Math.floor(minutes / 60) + " h" + (minutes % 60 ? " " + two(minutes % 60) + " min" : "");
      const days = v / 86400, years = days / 365.25;
      if (days < 999.5) return days.toPrecision(3) + " days";
      return (years < 999.5 ? years.toPrecision(3) : fixed(Number(years.toPrecision(3)), 0)) + " years";
    },
  };
  return say;
})();

let shown = document.getElementById("stated").textContent;  // what the figures are of
const fill = (text, ...values) => values.reduce((t, v) => t.replace("{}", () => v), text);
const switches = data.things.switches;
const boxes = Array.from(document.querySelectorAll("input[data-switch]"));
const key = (off) => off.join(",");
const held = new Map(data.held.map((one) => [key(one.off), one]));
const drawn = data.held.length ? data.held[0].off : [];

// Openings, speeds and inserts of a combination: those of the arrangement it is of, with the switches as they stand.
function settings_of(base, off) {
  const set = { opening: base.opening.slice(), speed: base.speed.slice(), insert: base.insert.slice() };
  switches.forEach((one, s) => {
    const is_off = off.includes(s);
    if (one.kind === "insert") { if (is_off) set.insert[one.index] = one.other; return; }
    if (is_off) set[one.kind][one.index] = 0;
    else if (!(set[one.kind][one.index] > 0)) set[one.kind][one.index] = 1;
  });
  return set;
}

const difference = (one, other) => one.filter((s) => !other.includes(s)).concat(other.filter((s) => !one.includes(s)));
const names = (list) => list.map((s) => switches[s].id).join(", ");

function nearest_to(off) {
  let best = null, least = Infinity;
  for (const one of data.held) {
    const apart = difference(one.off, off).length;
    if (apart < least) { least = apart; best = one; }
  }
  return best;
}

function put_said(said) {
  const place = document.getElementById("state-said"), list = document.createElement("ul"), classes = { 2: "trouble", 3: "doubt", 4: "good", 5: "quiet" };
  list.className = "said";
  for (const [ink, sentence] of said) {
    const item = document.createElement("li");
    item.className = classes[ink] || "plain";
    if (ink === 2 || ink === 3) {
      const mark = document.createElement("abbr");
      mark.className = "mark"; mark.title = ink === 2 ? data.words.trouble : data.words.doubt; mark.textContent = ink === 2 ? "!" : "?";
      item.append(mark, " ");
    }
    item.append(data.sentences[sentence]);
    list.append(item);
  }
  place.replaceChildren(list);
}

function put_tables(state) {
  const at = (name, i) => state[name] ? state[name][i] : null;
  document.querySelectorAll("#state-vessels tr[data-vessel]").forEach((row) => {
    const v = Number(row.dataset.vessel), vessel = data.things.vessels[v], cells = row.cells;
    const depth = at("depth", v), inflow = at("inflow", v), turnover = at("turnover", v), spill = at("spill", v), flows = inflow > 1e-9;
    cells[1].textContent = say.flow(inflow);
    cells[2].textContent = say.level(depth === null ? null : vessel.floor + depth);
    cells[3].textContent = say.height(depth === null ? null : vessel.rim - vessel.floor - depth);
    cells[4].textContent = flows ? say.duration(turnover) : "-";
    const short = (vessel.inflow && inflow < vessel.inflow * (1 - 1e-9)) || (vessel.turnover && !(turnover <= vessel.turnover * (1 + 1e-9)));
    cells[1].classList.toggle("short", Boolean(short && state.depth));
    cells[6].textContent = spill > 1e-9 ? fill(data.words.spills, say.flow(spill)) : "";
  });
  document.querySelectorAll("#state-pumps tr[data-pump]").forEach((row) => {
    const p = Number(row.dataset.pump), flow = at("pumpFlow", p), runs = flow !== null;
    row.cells[1].textContent = runs ? say.flow(flow) : data.words.stopped;
    row.cells[2].textContent = runs ? say.head(at("pumpHead", p)) : "-";
    row.cells[3].textContent = runs ? say.power(at("pumpPower", p)) : "-";
  });
}

// One state on the whole page.
function show(state, settings, stated, away) {
  const line = document.getElementById("stated");
  line.textContent = shown = stated;
  line.classList.toggle("away", Boolean(away));
  document.querySelectorAll(".profile-state").forEach((one) => { one.textContent = stated; });
  put_said(state.said);
  put_tables(state);
  const level = state.depth ? state.depth.map((d, v) => d === null ? null : data.things.vessels[v].floor + d) : undefined;
  profileShow(Object.assign({ level }, state, { spill: state.spill || (state.depth ? state.depth.map(() => 0) : undefined) }, settings));
}

function words_of(off) {
  const turned = difference(off, drawn), offs = turned.filter((s) => off.includes(s)), ons = turned.filter((s) => !off.includes(s)), parts = [];
  if (offs.length) parts.push(fill(data.words.off, names(offs)));
  if (ons.length) parts.push(fill(data.words.on, names(ons)));
  return fill(data.words.stated, data.words.base) + ", " + (parts.length ? parts.join("; ") : data.words.all_on);
}

function show_combination(one, asked) {
  const away = asked && key(asked) !== key(one.off);
  const stated = words_of(one.off) + (away ? ". " + fill(data.words.differs, names(difference(one.off, asked))) : "");
  show(one.state, settings_of(data.arrangements[0], one.off), stated, away);
}

function follow_switches() {
  const off = boxes.filter((box) => !box.checked).map((box) => Number(box.dataset.switch)).sort((a, b) => a - b);
  document.getElementById("arrangement").value = "0";
  const one = held.get(key(off));
  if (one) { show_combination(one); return; }
  const near = nearest_to(off), line = document.getElementById("stated"), button = document.createElement("button");
  line.textContent = shown + ". " + fill(data.words.not_held, names(difference(near.off, off))) + " ";
  line.classList.add("away");
  button.type = "button"; button.id = "nearest"; button.textContent = data.words.show_nearest;
  button.addEventListener("click", () => { set_boxes(near.off); show_combination(near, off); });
  line.append(button);
}

function set_boxes(off) { boxes.forEach((box) => { box.checked = !off.includes(Number(box.dataset.switch)); }); }

function follow_arrangement() {
  const index = Number(document.getElementById("arrangement").value), one = data.arrangements[index];
  boxes.forEach((box) => {
    const s = switches[Number(box.dataset.switch)];
    box.checked = s.kind === "insert" ? one.insert[s.index] !== s.other : one[s.kind][s.index] > 0;
  });
  show(one.state, { opening: one.opening, speed: one.speed, insert: one.insert }, fill(data.words.stated, one.name), false);
}

document.addEventListener("DOMContentLoaded", () => {
  const choice = document.getElementById("arrangement"), reset = document.getElementById("reset");
  choice.disabled = false;
  choice.addEventListener("change", follow_arrangement);
  boxes.forEach((box) => { box.disabled = false; box.addEventListener("change", follow_switches); });
  if (reset) { reset.disabled = false; reset.addEventListener("click", () => { choice.value = "0"; set_boxes(drawn); show_combination(data.held[0]); }); }
  document.documentElement.dataset.ready = "yes";
});
// A link or a print must not find its matter folded away.
addEventListener("beforeprint", () => document.querySelectorAll("#arrangements > details:first-of-type").forEach((one) => { one.open = true; }));
addEventListener("hashchange", () => { const one = document.getElementById(location.hash.slice(1)); if (one && one.tagName === "DETAILS") one.open = true; });
