"use strict";
// Draws the plots of the report with the scales, ticks and paths of D3, as SVG text. It runs while the report is made, so that the page shows its
// plots without a script. chart.h says what a chart is made of. Colours are classes: the page's style gives them, for light, dark and paper; lines differ
// by their dashes too, points by their shapes.

var shapes = ["circle", "square", "diamond", "triangle-up", "cross", "triangle-down"];

function escaped(text) {
  return String(text).replace(/&/g, "&amp;").replace(/</g, "&lt;").replace(/>/g, "&gt;").replace(/"/g, "&quot;");
}

function tag(name, attributes, inside) {
  var text = "<" + name;
  for (var key in attributes) if (attributes[key] !== undefined && attributes[key] !== null) text += " " + key + '="' + escaped(attributes[key]) + '"';
  return text + ">" + (inside || "") + "</" + name + ">";
}

function titled(title) { return title ? "<title>" + escaped(title) + "</title>" : ""; }
function label(x, y, text, kind) { return tag("text", { x: round(x), y: round(y), "class": kind }, escaped(text)); }
function round(value) { return Math.round(value * 10) / 10; }
function width_of(text) { return 7 * String(text).length; }  // of letters 13 px high, on the wide side

function svg(chart, width, height, inside) {
  return tag("svg", { xmlns: "http://www.w3.org/2000/svg", viewBox: "0 0 " + round(width) + " " + round(height), "class": "plot", role: "img",
                      "aria-label": chart.says }, titled(chart.says) + inside);
}

function extent(all, least, most) {
  var low = d3.min(all), high = d3.max(all);
  if (least !== null && least !== undefined) low = least;
  if (most !== null && most !== undefined) high = most;
  if (low === undefined || high === undefined) return [0, 1];
  return low === high ? [low - 0.5, high + 0.5] : [low, high];
}

function scale(axis, values, range) {
  var made = d3.scale.linear().domain(extent(values, axis.least, axis.most)).range(range);
  return axis.least !== null && axis.most !== null && axis.least !== undefined && axis.most !== undefined ? made : made.nice(6);
}

function path_of(x, y, xs, ys) {
  var points = d3.zip(xs, ys);
  return d3.svg.line().x(function (p) { return round(x(p[0])); }).y(function (p) { return round(y(p[1])); })
    .defined(function (p) { return p[0] !== null && p[1] !== null; })(points);
}

// Grid and figures along the bottom of a box.
function along(x, axis, box, with_figures) {
  var wanted = Math.max(2, Math.floor((box.right - box.left) / 90)), format = x.tickFormat(wanted), text = "";
  x.ticks(wanted).forEach(function (tick) {
    text += tag("line", { x1: round(x(tick)), x2: round(x(tick)), y1: box.top, y2: box.bottom, "class": "grid" });
    if (with_figures) text += label(x(tick), box.bottom + 17, format(tick), "figure middle");
  });
  return with_figures && axis.label ? text + label((box.left + box.right) / 2, box.bottom + 36, axis.label, "axis middle") : text;
}

function upward(y, axis, box) {
  var wanted = Math.max(2, Math.floor((box.bottom - box.top) / 45)), format = y.tickFormat(wanted), text = "";
  y.ticks(wanted).forEach(function (tick) {
    text += tag("line", { x1: box.left, x2: box.right, y1: round(y(tick)), y2: round(y(tick)), "class": "grid" });
    text += label(box.left - 7, y(tick) + 4, format(tick), "figure end");
  });
  return axis.label ? text + label(4, box.top - 9, axis.label, "axis") : text;
}

function frame(box) { return tag("rect", { x: box.left, y: box.top, width: round(box.right - box.left), height: round(box.bottom - box.top), "class": "frame" }); }

function symbol(series, x, y, title) {
  var shape = d3.svg.symbol().type(shapes[series.ink % shapes.length]).size(series.big ? 110 : 64)();
  return tag("path", { d: shape, transform: "translate(" + round(x) + "," + round(y) + ")", "class": "point f" + series.ink % 8 }, titled(title));
}

// Names of the series, in rows above the box; returns their height too.
function legend(series, left, right) {
  var x = left, y = 14, text = "";
  series.forEach(function (one) {
    if (!one.name) return;
    var wide = 34 + width_of(one.name) + 16;
    if (x > left && x + wide > right) { x = left; y += 20; }
    if (one.look === "points") text += symbol(one, x + 14, y - 4, "");
    else text += tag("path", { d: "M" + x + "," + (y - 4) + "h28", "class": one.look + " s" + one.ink % 8 + " d" + one.ink % 6 });
    text += label(x + 34, y, one.name, "name");
    x += wide;
  });
  return { text: text, height: x > left || y > 14 ? y + 6 : 0 };
}

function xy(chart) {
  var width = chart.width || 760, names = legend(chart.series, 8, width - 8);
  var box = { left: 62, right: width - 16, top: names.height + (chart.y.label ? 30 : 12), bottom: 0 };
  box.bottom = box.top + (chart.height || 300);
  var xs = d3.merge(chart.series.map(function (s) { return s.x; })), ys = d3.merge(chart.series.map(function (s) { return s.y; }));
  var x = scale(chart.x, xs, [box.left, box.right]), y = scale(chart.y, ys, [box.bottom, box.top]), text = names.text;
  (chart.spans || []).forEach(function (span) {
    var from = Math.max(box.left, x(span.from)), to = Math.min(box.right, x(span.to));
    if (to <= from) return;
    text += tag("rect", { x: round(from), y: box.top, width: round(to - from), height: round(box.bottom - box.top), "class": "span b" + (span.ink || 0) % 8 }, titled(span.says));
    if (span.name && to - from > width_of(span.name)) text += label((from + to) / 2, box.top + 15, span.name, "name middle");
  });
  text += along(x, chart.x, box, true) + upward(y, chart.y, box) + frame(box);
  (chart.lines || []).forEach(function (line) {
    text += tag("path", { d: "M" + box.left + "," + round(y(line.y)) + "H" + box.right, "class": "level" }, titled(line.name));
    text += label(box.right - 4, y(line.y) - 4, line.name, "name end");
  });
  chart.series.forEach(function (one) {
    if (one.look !== "points") text += tag("path", { d: path_of(x, y, one.x, one.y), "class": one.look + " s" + one.ink % 8 + " d" + one.ink % 6 }, titled(one.name));
  });
  chart.series.forEach(function (one) {
    if (one.look === "points") one.x.forEach(function (value, i) { text += symbol(one, x(value), y(one.y[i]), one.says ? one.says[i] : one.name); });
  });
  return svg(chart, width, box.bottom + 44, text);
}

// One line for each thing: bands along it, and points.
function rows(chart) {
  var width = chart.width || 760, left = 20, values = [];
  chart.rows.forEach(function (row) {
    left = Math.max(left, width_of(row.name) + 14);
    row.bands.forEach(function (band) { values.push(band.from, band.to); });
    (row.points || []).forEach(function (point) { values.push(point.x); });
  });
  left = Math.min(left, width * 0.45);
  var after = d3.max(chart.rows, function (row) { return row.after ? width_of(row.after) + 10 : 10; }) || 10;
  var high = 30, box = { left: left, right: width - Math.min(after, width * 0.3), top: 8, bottom: 8 + high * chart.rows.length };
  var x = scale(chart.x, values, [box.left, box.right]), text = along(x, chart.x, box, true);
  chart.rows.forEach(function (row, i) {
    var y = box.top + high * i + high / 2;
    text += label(box.left - 8, y + 4, row.name, "name end");
    row.bands.forEach(function (band) {
      text += tag("rect", { x: round(x(Math.min(band.from, band.to))), y: y - 9, width: round(Math.max(1, Math.abs(x(band.to) - x(band.from)))), height: 18,
                            "class": "bar f" + (band.ink || 0) % 8 + (band.pale ? " pale" : "") }, titled(band.says));
    });
    (row.points || []).forEach(function (point) { text += symbol({ ink: point.ink || 0, big: true }, x(point.x), y, point.says); });
    if (row.after) text += label(box.right + 8, y + 4, row.after, "figure");
  });
  return svg(chart, width, box.bottom + (chart.x.label ? 44 : 26), text);
}

// Several levels against one axis of time, one strip under the other.
function strips(chart) {
  var width = chart.width || 760, high = chart.height || 54, gap = 16, left = 110, text = "";
  chart.strips.forEach(function (strip) { left = Math.max(left, width_of(strip.name) + 20); });
  left = Math.min(left, width * 0.35);
  var box = { left: left, right: width - 76, top: 14, bottom: 14 + (high + gap) * chart.strips.length - gap };
  var x = scale(chart.x, d3.merge(chart.strips.map(function (s) { return s.x; })), [box.left, box.right]);
  (chart.spans || []).forEach(function (span) {
    var from = Math.max(box.left, x(span.from)), to = Math.min(box.right, x(span.to));
    if (to > from) text += tag("rect", { x: round(from), y: box.top, width: round(to - from), height: round(box.bottom - box.top), "class": "span b5" }, titled(span.says));
  });
  text += along(x, chart.x, box, true);
  chart.strips.forEach(function (strip, i) {
    var top = box.top + (high + gap) * i, bottom = top + high, y = d3.scale.linear().domain([strip.least, strip.most]).range([bottom, top]);
    text += tag("rect", { x: box.left, y: round(top), width: round(box.right - box.left), height: high, "class": "frame" });
    (strip.lines || []).forEach(function (line) {
      if (line.y >= strip.least && line.y <= strip.most)
        text += tag("path", { d: "M" + box.left + "," + round(y(line.y)) + "H" + round(box.right), "class": "level" }, titled(line.name));
    });
    text += tag("path", { d: path_of(x, y, strip.x, strip.y), "class": "line s0" }, titled(strip.says));
    text += label(box.left - 8, top + high / 2 + 4, strip.name, "name end");
    text += label(box.right + 5, top + 11, strip.most_says, "figure") + label(box.right + 5, bottom, strip.least_says, "figure");
  });
  (chart.marks || []).forEach(function (mark) {
    text += tag("path", { d: "M" + round(x(mark.x)) + "," + (box.top - 6) + "V" + round(box.bottom), "class": "mark s" + (mark.ink || 0) % 8 }, titled(mark.says));
  });
  return svg(chart, width, box.bottom + 44, text);
}

function draw(chart) { return { xy: xy, rows: rows, strips: strips }[chart.kind](chart); }
