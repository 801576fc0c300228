"use strict";
(() => {
  const NARROW = 560, PAGE = 660;
  const report = document.getElementById("report");
  const charts = Array.from(report.querySelectorAll(".chart"));
  const drawnAt = new Map();

  const library = () => {
    if (window.Plotly) return;
    const script = document.createElement("script");
    script.textContent = document.getElementById("drawing-library").textContent;
    document.head.append(script);
  };
  const put = (target, [name, ...rest], value) => {
    if (rest.length) put(target[name], rest, value);
    else target[name] = value;
  };
  const draw = (chart, width) => {
    const room = width || Math.floor(chart.clientWidth);
    if (!room || drawnAt.get(chart) === room) return;
    library();
    const { data, layout, compact } = JSON.parse(document.getElementById(chart.id + "-data").textContent);
    const height = width ? Number(chart.dataset.print) : layout.height;
    chart.style.minHeight = `${height}px`;
    const shape = Object.assign({}, layout, { width: room, height });
    if (room < NARROW) Object.entries(compact).forEach(([path, value]) => put(shape, path.split("."), value));
    if (!drawnAt.has(chart)) chart.textContent = "";
    drawnAt.set(chart, room);
    Plotly.react(chart, data, shape, { displayModeBar: false, scrollZoom: false, doubleClick: false });
  };
  const seen = new IntersectionObserver((entries) => entries.forEach((entry) => {
    if (entry.isIntersecting) draw(entry.target);
  }), { rootMargin: "400px" });
  charts.forEach((chart) => seen.observe(chart));

  const drawAll = () => {
    report.querySelectorAll("details:not(.numbers)").forEach((one) => { one.open = true; });
    charts.forEach((chart) => draw(chart));
    document.documentElement.dataset.charts = "drawn";
  };
  const show = () => {
    const target = location.hash.length > 1 && document.getElementById(location.hash.slice(1));
    if (!target || !report.contains(target)) return;
    report.hidden = false;
    for (let one = target; one && one !== report; one = one.parentElement) if (one.tagName === "DETAILS") one.open = true;
    target.scrollIntoView();
    if (location.hash === "#report-whole") drawAll();
  };
  window.addEventListener("hashchange", show);
  show();

  let timer = 0;
  window.addEventListener("resize", () => {
    clearTimeout(timer);
    timer = setTimeout(() => charts.filter((chart) => drawnAt.has(chart)).forEach((chart) => draw(chart)), 150);
  });
  window.addEventListener("beforeprint", () => {
    if (report.hidden || document.body.dataset.print === "wall") return;
    report.querySelectorAll("details").forEach((one) => {
      one.dataset.open = one.open;
      if (!one.matches(".numbers")) one.open = true;
    });
    charts.forEach((chart) => draw(chart, PAGE));
  });
  window.addEventListener("afterprint", () => {
    report.querySelectorAll("details[data-open]").forEach((one) => {
      one.open = one.dataset.open === "true";
      delete one.dataset.open;
    });
    charts.filter((chart) => drawnAt.has(chart)).forEach((chart) => draw(chart));
  });
})();
