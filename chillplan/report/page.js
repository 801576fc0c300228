"use strict";
(() => {
  const NARROW = 560, PAGE = 660, BEFORE_SHOWN = 1500;
  const charts = Array.from(document.querySelectorAll(".chart"));

  const drawnAt = new Map();
  const put = (target, [name, ...rest], value) => {
    if (rest.length) put(target[name], rest, value);
    else target[name] = value;
  };
  const draw = (chart, width) => {
    const room = width || Math.floor(chart.clientWidth);
    if (!room || drawnAt.get(chart) === room) return;
    const { data, layout, compact } = JSON.parse(document.getElementById(chart.id + "-data").textContent);
    const height = width ? Number(chart.dataset.print) : layout.height;
    chart.style.minHeight = `${height}px`;
    const shape = Object.assign({}, layout, { width: room, height });
    if (room < NARROW) Object.entries(compact).forEach(([path, value]) => put(shape, path.split("."), value));
    if (!drawnAt.has(chart)) chart.textContent = "";
    drawnAt.set(chart, room);
    Plotly.react(chart, data, shape, { displayModeBar: false, scrollZoom: false, doubleClick: false });
  };
  const later = window.requestIdleCallback || ((act) => setTimeout(act, 1));
  const waiting = charts.slice();
  const started = performance.now();
  const next = () => {
    while (waiting.length && performance.now() - started < BEFORE_SHOWN) draw(waiting.shift());
    if (waiting.length) {
      draw(waiting.shift());
      later(next);
    } else document.documentElement.dataset.charts = "drawn";
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
  const steps = Array.from(document.querySelectorAll("details.how"));
  window.addEventListener("beforeprint", () => steps.forEach((one) => {
    one.dataset.open = one.open;
    one.open = true;
  }));
  window.addEventListener("afterprint", () => steps.forEach((one) => { one.open = one.dataset.open === "true"; }));
  window.addEventListener("beforeprint", () => charts.forEach((chart) => draw(chart, PAGE)));
  window.addEventListener("afterprint", () => charts.forEach((chart) => draw(chart)));
})();
