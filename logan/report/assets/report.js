"use strict";
(() => {
  const data = JSON.parse(document.getElementById("data").textContent);
  const dark = matchMedia("(prefers-color-scheme: dark)");
  const plots = [...document.querySelectorAll(".plot")];
  const drawn = new Set();
  const MINUS = "\u2212";
  const PAPER = { width: 695, time: 83, plane: 152, font: 9.5 };
  let us = false, range = null, onPaper = false, spreading = false;

  // ---- units ----
  const wordsOf = (unit) => data.words[unit] ?? unit;
  const conversion = (unit) => (us && data.us[unit]) || [unit, 1, 0];
  const shown = (value, unit, decimals) => {
    const [, factor, offset] = conversion(unit);
    const finer = Math.max(0, Math.round(-Math.log10(factor)));
    // from the number as it is written: it then reads alike in a sentence and in a table
    return (Number(value.toFixed(Number(decimals))) * factor + offset).toFixed(Number(decimals) + finer).replace(/^-(0(\.0+)?)$/, "$1").replace("-", MINUS);
  };
  const withUnit = (text, unit) => {
    const words = wordsOf(conversion(unit)[0]);
    return !words ? text : unit === "deg" ? text + words : text + "\u00a0" + words;
  };
  const writeQuantities = () => {
    for (const node of document.querySelectorAll(".q")) {
      const { value, low, high, unit, decimals, before, after, bare } = node.dataset;
      node.dataset.written ??= node.textContent;
      const put = bare ? (text) => text : (text) => (before || "") + withUnit(text, unit) + (after || "");
      if (!(us && data.us[unit])) node.textContent = node.dataset.written;
      else if (value) node.textContent = put(shown(Number(value), unit, decimals));
      else if (low && high) node.textContent = put(`${shown(Number(low), unit, decimals)} to ${shown(Number(high), unit, decimals)}`);
    }
    for (const node of document.querySelectorAll(".u")) node.textContent = wordsOf(conversion(node.dataset.unit)[0]);
  };

  // ---- charts ----
  const isTimePlot = (id) => id.startsWith("plot-");
  const figureOf = (id) => {
    const { data: traces, layout } = data.figures[id];
    const whole = { data: traces, layout: isTimePlot(id) ? { ...layout, shapes: data.strip } : layout };
    const swap = dark.matches && !onPaper;
    const figure = JSON.parse(JSON.stringify(whole), (_, value) =>
      swap && typeof value === "string" && Object.hasOwn(data.dark, value) ? data.dark[value] : value);
    const unit = figure.layout.meta.unit;
    const [to, factor, offset] = conversion(unit);
    if (to !== unit) {
      for (const trace of figure.data) trace.y = trace.y.map((v) => (v === null ? null : v * factor + offset));
      const ends = figure.layout.yaxis.range;
      if (ends) figure.layout.yaxis.range = ends.map((v) => v * factor + offset);
    }
    if (range && isTimePlot(id)) figure.layout.xaxis.range = range;
    return figure;
  };
  const draw = (node) => {
    const figure = figureOf(node.id);
    const height = node.classList.contains("plane") ? PAPER.plane : PAPER.time;
    node.style.height = onPaper ? `${height}px` : "";
    if (onPaper) {
      Object.assign(figure.layout, { width: PAPER.width, height });
      for (const part of [figure.layout, ...(figure.layout.annotations ?? [])]) part.font.size = PAPER.font;
    } else if (node.clientWidth < 520) {
      figure.layout.margin = { ...figure.layout.margin, l: 50, r: Math.min(figure.layout.margin.r, 88) };
    }
    const config = { displayModeBar: false, responsive: !onPaper, showTips: false };
    window.Plotly.react(node, figure.data, figure.layout, config);
    node.querySelector("svg")?.setAttribute("aria-hidden", "true");
    if (!drawn.has(node)) {
      drawn.add(node);
      node.dataset.drawn = "yes";
      if (isTimePlot(node.id)) node.on("plotly_relayout", spread);
    }
  };
  const redraw = () => drawn.forEach(draw);
  const spread = (change) => {
    if (spreading) return;
    if (change["xaxis.autorange"] || change["xaxis.range[0]"] !== undefined) {
      range = change["xaxis.autorange"] ? null : [change["xaxis.range[0]"], change["xaxis.range[1]"]];
      spreading = true;
      for (const node of drawn) {
        if (isTimePlot(node.id)) {
          window.Plotly.relayout(node, { "xaxis.range": range ?? data.figures[node.id].layout.xaxis.range });
        }
      }
      spreading = false;
    }
  };

  // ---- the chart library, unpacked from this file ----
  const unpack = async () => {
    const packed = Uint8Array.from(atob(document.getElementById("plotter").textContent), (c) => c.charCodeAt(0));
    const stream = new Blob([packed]).stream().pipeThrough(new DecompressionStream("gzip"));
    const script = document.createElement("script");
    script.textContent = await new Response(stream).text();
    document.head.append(script);
  };
  const start = async () => {
    try {
      await unpack();
    } catch {
      for (const node of plots) node.textContent = "This browser is too old to draw the chart; the measures stand in the tables.";
      return;
    }
    const watcher = new IntersectionObserver((entries) => {
      for (const entry of entries) {
        if (entry.isIntersecting) {
          watcher.unobserve(entry.target);
          draw(entry.target);
        }
      }
    }, { rootMargin: "300px" });
    plots.forEach((node) => watcher.observe(node));
    document.documentElement.dataset.ready = "yes";
    dark.addEventListener("change", redraw);
    addEventListener("beforeprint", () => { onPaper = true; plots.forEach(draw); });
    addEventListener("afterprint", () => { onPaper = false; redraw(); });
  };

  for (const input of document.querySelectorAll("input[name=units]")) {
    input.addEventListener("change", () => {
      us = document.querySelector("input[name=units]:checked").value === "us";
      writeQuantities();
      redraw();
    });
  }
  // the date belongs to the sheet of paper: a report made again from the same records is the same file
  const printed = document.getElementById("printed");
  addEventListener("beforeprint", () => { printed.textContent = `Printed on ${new Date().toLocaleDateString("sv")}.`; });
  document.getElementById("print").addEventListener("click", () => print());
  if (plots.length) start();
  else document.documentElement.dataset.ready = "yes";
})();
