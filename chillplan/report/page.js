"use strict";
(async () => {
  const NARROW = 560, PAGE = 660;
  const charts = Array.from(document.querySelectorAll(".chart"));
  const say = (text) => charts.forEach((chart) => {
    const waiting = chart.querySelector(".waiting");
    if (waiting) waiting.textContent = text;
  });
  if (typeof DecompressionStream === "undefined") {
    say("This browser is too old to draw the picture; its numbers are in the table below.");
    return;
  }
  const packed = document.getElementById("plotly-packed").textContent.trim();
  const bytes = Uint8Array.from(atob(packed), (letter) => letter.charCodeAt(0));
  const stream = new Blob([bytes]).stream().pipeThrough(new DecompressionStream("gzip"));
  const library = document.createElement("script");
  library.textContent = await new Response(stream).text();
  document.head.appendChild(library);

  const drawnAt = new Map();
  const put = (target, [name, ...rest], value) => {
    if (rest.length) put(target[name], rest, value);
    else target[name] = value;
  };
  const draw = (chart, width) => {
    const room = width || Math.floor(chart.clientWidth);
    if (!room || drawnAt.get(chart) === room) return;
    const { data, layout, compact } = JSON.parse(document.getElementById(chart.id + "-data").textContent);
    const shape = Object.assign({}, layout, { width: room });
    if (room < NARROW) Object.entries(compact).forEach(([path, value]) => put(shape, path.split("."), value));
    if (!drawnAt.has(chart)) chart.textContent = "";
    drawnAt.set(chart, room);
    Plotly.react(chart, data, shape, { displayModeBar: false, scrollZoom: false, doubleClick: false });
  };
  const later = window.requestIdleCallback || ((act) => setTimeout(act, 1));
  const waiting = charts.slice();
  const next = () => {
    const chart = waiting.shift();
    if (!chart) {
      document.documentElement.dataset.charts = "drawn";
      return;
    }
    draw(chart);
    later(next);
  };
  const seen = new IntersectionObserver((entries) => entries.forEach((entry) => {
    if (entry.isIntersecting) draw(entry.target);
  }), { rootMargin: "400px" });
  charts.forEach((chart) => seen.observe(chart));
  next();

  let timer = 0;
  window.addEventListener("resize", () => {
    clearTimeout(timer);
    timer = setTimeout(() => charts.forEach((chart) => draw(chart)), 150);
  });
  window.addEventListener("beforeprint", () => charts.forEach((chart) => draw(chart, PAGE)));
  window.addEventListener("afterprint", () => charts.forEach((chart) => draw(chart)));
})();
