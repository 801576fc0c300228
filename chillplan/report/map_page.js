"use strict";
const form = document.querySelector(".choices");
const chart = document.getElementById("map");
const selects = {};

function labelled(name, words) {
  const label = document.createElement("label");
  const select = document.createElement("select");
  label.append(words, select);
  select.name = name;
  select.addEventListener("change", show);
  form.append(label);
  selects[name] = select;
  return select;
}

function option(value, words) {
  const one = document.createElement("option");
  one.value = value;
  one.textContent = words;
  return one;
}

function offer() {
  const layers = labelled("layer", "Show");
  const groups = {};
  for (const layer of map.layers) {
    if (!groups[layer.group]) {
      groups[layer.group] = document.createElement("optgroup");
      groups[layer.group].label = layer.group;
      layers.append(groups[layer.group]);
    }
    groups[layer.group].append(option(layer.key, layer.label));
  }
  for (const [dim, words] of Object.entries(map.names)) {
    const select = labelled(dim, words);
    select.append(...map.choices[dim].map((one) => option(one.value, one.words)));
    if (map.choices[dim].length < 2 && dim !== "species") select.parentElement.hidden = true;
  }
  const wanted = new URLSearchParams(location.hash.slice(1));
  for (const [name, select] of Object.entries(selects)) {
    const value = wanted.get(name);
    if (value !== null && Array.from(select.options).some((one) => one.value === value)) select.value = value;
  }
}

function chosen() {
  const layer = map.layers.find((one) => one.key === selects.layer.value);
  const parts = Object.keys(map.names).map((dim) => (layer.on.includes(dim) ? selects[dim].value : ""));
  return [layer, map.panels[[layer.key, ...parts].join("|")]];
}

function place(x, y) {
  const east = ((((x + 180) % 360) + 360) % 360) - 180;
  const north = `${Math.abs(y).toFixed(2)}° ${y < 0 ? "S" : "N"}`;
  return `${north}, ${Math.abs(east).toFixed(2)}° ${east < 0 ? "W" : "E"}`;
}

function points(panel) {
  const { x, y, drawn } = map.frame;
  const seen = [];
  const known = panel.says ?? panel.colour;
  for (let n = 0; n < x.length; n += 1) if (known[n] >= 0) seen.push(n);
  const words = (n) => (panel.says ? panel.texts[panel.says[n]] : panel.key[panel.colour[n]][1]);
  return {
    type: "scatter",
    mode: "markers",
    x: seen.map((n) => x[n]),
    y: seen.map((n) => y[n]),
    text: seen.map((n) => `${place(x[n], y[n])}<br>${words(n).replaceAll("<", "&lt;")}`),
    hovertemplate: "%{text}<extra></extra>",
    marker: drawn
      ? { size: 12, color: seen.map((n) => panel.key[panel.colour[n]][0]), line: { color: "#1f2a2c", width: 1 } }
      : { size: 12, opacity: 0 },
    showlegend: false,
  };
}

function degrees(positive, negative) {
  return (value) => `${Math.abs(value)}° ${value < 0 ? negative : value > 0 ? positive : ""}`.trim();
}

function ticks(low, high, most, words) {
  const rough = (high - low) / most;
  const power = 10 ** Math.floor(Math.log10(rough));
  const step = [1, 2, 5, 10].map((one) => one * power).find((one) => one >= rough);
  const values = [];
  for (let n = Math.ceil(low / step); n * step <= high; n += 1) values.push(Number((n * step).toPrecision(8)));
  return { tickmode: "array", tickvals: values, ticktext: values.map(words) };
}

function layout(panel, wide) {
  const [west, east, south, north] = map.frame.edges;
  const frame = { showgrid: false, zeroline: false, linecolor: "#1f2a2c", mirror: true, ticks: "outside", fixedrange: true };
  const margin = { l: 62, r: 12, t: 8, b: 34 };
  const round = (east - west) / ((north - south) * map.frame.stretch);
  const inside = Math.min((wide - margin.l - margin.r) / round, 0.75 * Math.max(window.innerHeight, 500));
  const high = Math.max(inside, 140);
  const across = Math.min(high * round, wide - margin.l - margin.r);
  margin.r = Math.max(wide - margin.l - across, 12);
  const eastWords = (value) => degrees("E", "W")(value > 180 ? value - 360 : value < -180 ? value + 360 : value);
  return {
    width: wide,
    height: high + margin.t + margin.b,
    margin,
    plot_bgcolor: "#ffffff",
    font: { color: "#1f2a2c", family: "system-ui, sans-serif", size: 12 },
    xaxis: { ...frame, range: [west, east], ...ticks(west, east, Math.max(across / 90, 2), eastWords) },
    yaxis: { ...frame, range: [south, north], ...ticks(south, north, Math.max(high / 70, 2), degrees("N", "S")) },
    images: panel.image
      ? [{ source: panel.image, xref: "x", yref: "y", x: west, y: north, sizex: east - west, sizey: north - south,
           sizing: "stretch", layer: "below" }]
      : [],
    hovermode: "closest",
    hoverlabel: { bgcolor: "#ffffff", font: { color: "#1f2a2c" } },
    showlegend: false,
  };
}

function keyOf(panel) {
  const list = document.getElementById("key");
  list.replaceChildren();
  const entry = (colour, words, share) => {
    const item = document.createElement("li");
    const swatch = document.createElement("span");
    swatch.className = "swatch";
    swatch.style.background = colour;
    const amount = document.createElement("span");
    amount.className = "share";
    amount.textContent = share;
    const said = document.createElement("span");
    said.textContent = words;
    item.append(swatch, said, amount);
    list.append(item);
  };
  const percent = (share) => (share < 0.005 ? "under 1 % of places" : `${(100 * share).toFixed(0)} % of places`);
  for (const [colour, words, share] of panel.key) if (share > 0) entry(colour, words, percent(share));
  if (panel.absent) entry("#ffffff", "no answer: water, too steep, or too little data", `${panel.absent} places`);
}

function draw() {
  const panel = chosen()[1];
  const traces = map.frame.x.length ? [points(panel)] : [];
  Plotly.react(chart, traces, layout(panel, chart.clientWidth), { displayModeBar: false, responsive: false });
}

function show() {
  const [layer, panel] = chosen();
  for (const dim of Object.keys(map.names)) selects[dim].disabled = !layer.on.includes(dim);
  document.getElementById("title").textContent = panel.title;
  document.getElementById("note").textContent = layer.note;
  keyOf(panel);
  draw();
  const said = new URLSearchParams(Object.entries(selects).map(([name, select]) => [name, select.value]));
  history.replaceState(null, "", `#${said}`);
}

offer();
show();
document.documentElement.dataset.charts = "drawn";
window.addEventListener("resize", draw);
