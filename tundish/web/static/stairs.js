// Pressure staircase: element by element from the street to the tub, the sound band, the band after the readings, the readings as
// dots. Lying, so that a name has its line and the picture fits 360 px: a step far to the left is where it falls.
import { html } from "./ui.js";
import { say } from "./say.js";
import { UNITS } from "./units_table.js";
import { rounded } from "./units.js";

const WIDE = 340;
const LEFT = 92;
const ROW = 40;
const TOP = 26;

/** bands: facts of /stairs (nodes with healthy, now, readings) or of the bench (healthy and what_if as numbers). */
export function Staircase({ bands }) {
  const rows = bands.nodes.map(plain);
  const top = Math.max(...rows.flatMap((r) => [r.healthy.high, r.now.high, ...r.readings.map((d) => d.value)]), 1e-12);
  const low = Math.min(0, ...rows.flatMap((r) => [r.healthy.low, r.now.low, ...r.readings.map((d) => d.value)]));
  const x = (value) => LEFT + ((value - low) / (top - low)) * (WIDE - LEFT - 8);
  const high = TOP + rows.length * ROW + 4;
  return html`<figure>
    <svg class="drawn" viewBox="0 0 ${WIDE} ${high}" role="img" aria-label=${inWords(bands, rows)}>
      <${Axis} low=${low} top=${top} x=${x} unit=${bands.unit} high=${high} />
      ${rows.map((row, i) => html`<${Level} row=${row} y=${TOP + i * ROW} x=${x} after=${rows[i + 1]} link=${bands.links?.[i]} />`)}
    </svg>
    <figcaption class="key"><span class="healthy">${say("band_healthy")}</span><span class="band">${say("band_now")}</span><span class="dot">${say("band_read")}</span></figcaption>
  </figure>`;
}

function Level({ row, y, x, after, link }) {
  return html`<g>
    <text x="2" y=${y + 18}>${words(row.node)}</text>
    <rect class="healthy" x=${x(row.healthy.low)} y=${y + 3} width=${Math.max(3, x(row.healthy.high) - x(row.healthy.low))} height="11" />
    <rect class="band" x=${x(row.now.low)} y=${y + 15} width=${Math.max(3, x(row.now.high) - x(row.now.low))} height="11" />
    <line class="mid" x1=${x(row.now.middle)} x2=${x(row.now.middle)} y1=${y + 13} y2=${y + 28} />
    ${after ? html`<line class="fall" x1=${x(row.now.middle)} x2=${x(after.now.middle)} y1=${y + 28} y2=${y + ROW + 13} stroke-dasharray="2 3" />` : null}
    ${link ? html`<text class="pale" x="8" y=${y + 36}>↓ ${words(link)}</text>` : null}
    ${row.readings.map((dot) => html`<circle class="dot" cx=${x(dot.value)} cy=${y + 14.5} r="6" />`)}
  </g>`;
}

function Axis({ low, top, x, unit, high }) {
  const [, factor, offset] = UNITS[unit] || ["", 1, 0];
  return html`<g>${[low, (low + top) / 2, top].map((at, i) => html`<g>
    <line class="axis" x1=${x(at)} x2=${x(at)} y1="16" y2=${high} />
    <text class="pale" x=${x(at)} y="12" text-anchor=${["start", "middle", "end"][i]}>${rounded(at / factor - offset)}${i === 2 ? ` ${unit}` : ""}</text></g>`)}</g>`;
}

function plain(node) {
  if (typeof node.healthy === "number") {
    const point = (value) => ({ low: value, middle: value, high: value });
    return { node: node.node, healthy: point(node.healthy), now: point(node.what_if), readings: [] };
  }
  return { ...node, readings: node.readings.map((r) => (typeof r === "number" ? { value: r } : r)) };
}

function inWords(bands, rows) {
  const said = rows.map((row) => say("level_words", { node: words(row.node), healthy: text(row.healthy, bands.unit), now: text(row.now, bands.unit) }));
  return `${bands.title}. ${said.join(" ")}`;
}

function text({ low, high }, unit) {
  const [, factor, offset] = UNITS[unit] || ["", 1, 0];
  const [from, to] = [low, high].map((v) => rounded(v / factor - offset));
  return from === to ? `${from} ${unit}` : `${from}–${to} ${unit}`;
}

const words = (name) => name.replaceAll("_", " ");
