// Small helpers to build HTML and SVG, follow the theme and hand over files.

const SVG = "http://www.w3.org/2000/svg";

// What takes keys keeps them: the notebook's shortcuts look at every key first, and obey this attribute.
function fill(node, attributes, children) {
  if (attributes.onkeydown) node.setAttribute("data-lm-suppress-shortcuts", "true");
  for (const [name, value] of Object.entries(attributes)) {
    if (name.startsWith("on")) node.addEventListener(name.slice(2), value);
    else if (value !== null && value !== undefined && value !== false) node.setAttribute(name, value === true ? "" : value);
  }
  node.append(...children.filter((child) => child !== null && child !== undefined));
  return node;
}

export const html = (tag, attributes = {}, ...children) => fill(document.createElement(tag), attributes, children);
export const svg = (tag, attributes = {}, ...children) => fill(document.createElementNS(SVG, tag), attributes, children);

let counter = 0;
export const freshId = (stem) => `srn-${stem}-${++counter}`;

// "C_in" as text with a real subscript.
export function symbolNode(symbol) {
  const [stem, index] = symbol.split("_");
  return html("span", { class: "srn-symbol" }, stem, index ? html("sub", {}, index) : null);
}

// The same for the label of a picture; what is no symbol stays as it is.
export function symbolSpans(label) {
  const [, stem, index] = /^([A-Z])_(\w+)$/.exec(label) ?? [];
  return stem ? [svg("tspan", { class: "srn-stem" }, stem), svg("tspan", { dy: 3, class: "srn-index" }, index)] : [label];
}

// A verdict never speaks by colour alone.
export const VERDICTS = { pass: "✓", fail: "✗", caution: "!", "not known": "–" };

export const verdictWord = (passes) => ({ true: "pass", false: "fail" })[passes] ?? "not known";

export function verdictNode(word) {
  return html("span", { class: `srn-verdict srn-${word.replace(" ", "-")}` }, html("span", { "aria-hidden": "true" }, `${VERDICTS[word]} `), word);
}

// Change text only where it differs: an untouched node costs the browser nothing.
export function setText(node, text) {
  if (node.textContent !== text) node.textContent = text;
}

// Dark or light: the notebook's own theme where it tells, else the system's wish.
export function currentTheme() {
  const told = document.body.dataset.jpThemeLight;
  if (told) return told === "false" ? "dark" : "light";
  if (document.body.classList.contains("vscode-dark")) return "dark";
  if (document.body.classList.contains("vscode-light")) return "light";
  return matchMedia("(prefers-color-scheme: dark)").matches ? "dark" : "light";
}

// Keep data-theme of the element true; returns a function that stops following.
export function followTheme(element) {
  const apply = () => (element.dataset.theme = currentTheme());
  const wish = matchMedia("(prefers-color-scheme: dark)");
  const observer = new MutationObserver(apply);
  observer.observe(document.body, { attributes: true, attributeFilter: ["class", "data-jp-theme-light"] });
  wish.addEventListener("change", apply);
  apply();
  return () => {
    observer.disconnect();
    wish.removeEventListener("change", apply);
  };
}

export function download(name, content, type) {
  const url = URL.createObjectURL(content instanceof Blob ? content : new Blob([content], { type }));
  html("a", { href: url, download: name }).click();
  setTimeout(() => URL.revokeObjectURL(url), 1000);
}

const DRAWN = ["fill", "stroke", "stroke-width", "stroke-dasharray", "stroke-linejoin", "fill-opacity", "font-family", "font-size", "font-weight", "opacity", "text-anchor", "paint-order"];

// A picture that keeps its looks outside the page: computed styles become attributes.
export function standaloneSvg(picture, background) {
  const copy = picture.cloneNode(true);
  const originals = picture.querySelectorAll("*");
  copy.querySelectorAll("*").forEach((node, k) => {
    const style = getComputedStyle(originals[k]);
    if (style.display === "none") node.setAttribute("display", "none");
    for (const name of DRAWN) node.setAttribute(name, style.getPropertyValue(name));
  });
  const { width, height } = picture.getBoundingClientRect();
  fill(copy, { xmlns: SVG, width, height, viewBox: `0 0 ${width} ${height}` }, []);
  copy.prepend(svg("rect", { width, height, fill: background }));
  return new XMLSerializer().serializeToString(copy);
}

export async function rasterise(markup, scale = 2) {
  const image = new Image();
  image.src = `data:image/svg+xml;charset=utf-8,${encodeURIComponent(markup)}`;
  await image.decode();
  const canvas = html("canvas", { width: image.width * scale, height: image.height * scale });
  canvas.getContext("2d").drawImage(image, 0, 0, canvas.width, canvas.height);
  return new Promise((resolve) => canvas.toBlob(resolve, "image/png"));
}
