// Run inside a page: writes everything that is wrong with it into <pre id="audit">, a line each.
const found = [];
window.addEventListener("error", event => found.push("console: " + (event.message || "something did not load")), true);
for (const kind of ["error", "warn"]) {
  const was = console[kind];
  console[kind] = (...words) => { found.push("console: " + words.join(" ")); was.apply(console, words); };
}

const short = element => element.outerHTML.replace(/\s+/g, " ").slice(0, 90);

// WCAG 2.1: relative luminance and contrast ratio.
const luminance = colour => {
  const part = c => (c / 255 <= 0.03928 ? c / 255 / 12.92 : ((c / 255 + 0.055) / 1.055) ** 2.4);
  return 0.2126 * part(colour[0]) + 0.7152 * part(colour[1]) + 0.0722 * part(colour[2]);
};
const numbers = text => (text.match(/[\d.]+/g) || []).map(Number);
const ground = element => {
  for (let at = element; at; at = at.parentElement) {
    const colour = numbers(getComputedStyle(at).backgroundColor);
    if (colour.length === 3 || colour[3] > 0.99) return colour;
  }
  return [255, 255, 255];
};

function contrast() {
  const seen = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (seen.nextNode()) {
    const element = seen.currentNode.parentElement;
    if (!seen.currentNode.data.trim() || ["SCRIPT", "STYLE"].includes(element.tagName) || !element.getClientRects().length) continue;
    const [a, b] = [numbers(getComputedStyle(element).color), ground(element)].map(luminance).sort((a, b) => b - a);
    const ratio = (a + 0.05) / (b + 0.05);
    if (ratio < 4.5) found.push(`contrast ${ratio.toFixed(2)} of: ${short(element)}`);
  }
}

function links() {
  for (const link of document.querySelectorAll("a[href]")) {
    const to = link.getAttribute("href");
    if (!to.startsWith("#")) found.push("link leads out: " + to);
    else if (!document.getElementById(decodeURIComponent(to.slice(1)))) found.push("link to nothing: " + to);
  }
  for (const element of document.querySelectorAll("link, script[src], iframe, object, embed")) found.push("not inside the page: " + short(element));
}

function pictures() {
  for (const picture of document.querySelectorAll("img")) {
    if (!(picture.getAttribute("alt") || "").trim()) found.push("picture with no alt: " + short(picture));
    if (!picture.src.startsWith("data:")) found.push("picture not inside the page: " + picture.src);
    if (!picture.complete || !picture.naturalWidth) found.push("picture does not show: " + short(picture));
  }
  for (const drawing of document.querySelectorAll("svg")) if (!drawing.querySelector("title")) found.push("drawing with no title: " + short(drawing));
}

function tables() {
  for (const table of document.querySelectorAll("table")) {
    if (!table.querySelector("caption")) found.push("table with no caption: " + short(table));
    const heads = [...table.querySelectorAll("th")];
    if (!heads.length) found.push("table with no heading cells: " + short(table));
    for (const head of heads) if (!head.scope || !head.textContent.trim()) found.push("heading cell with no scope or text: " + short(head));
    const wide = row => [...row.cells].reduce((sum, cell) => sum + cell.colSpan, 0);
    if (new Set([...table.rows].map(wide)).size > 1) found.push("table with uneven rows: " + short(table));
  }
}

function page() {
  if (!document.documentElement.lang) found.push("no language");
  if (!document.title.trim()) found.push("no title");
  const levels = [...document.querySelectorAll("h1, h2, h3, h4")].map(heading => Number(heading.tagName[1]));
  if (levels.filter(level => level === 1).length !== 1) found.push("heading: not one of the first level");
  levels.forEach((level, i) => { if (i && level > levels[i - 1] + 1) found.push("heading level skipped at number " + (i + 1)); });
  const ids = [...document.querySelectorAll("[id]")].map(element => element.id);
  if (new Set(ids).size < ids.length) found.push("an id is there twice");
  if (document.documentElement.scrollWidth > document.documentElement.clientWidth + 1) {
    found.push(`wider than the window: ${document.documentElement.scrollWidth} of ${document.documentElement.clientWidth} pixels`);
  }
}

window.addEventListener("load", () => {
  [page, links, pictures, tables, contrast].forEach(look => look());
  const list = document.createElement("pre");
  list.id = "audit";
  list.textContent = found.join("\n");
  document.body.append(list);
});
