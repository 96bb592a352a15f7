// Cost spread: what the whole call may still cost, as a hill, with the quote as a post in it.
import { html } from "./ui.js";
import { about, say } from "./say.js";

const WIDE = 340;
const HIGH = 120;

/** low, middle, high: 10, 50 and 90 % points, whole units of the currency. quote: the price named, or null. */
export function Spread({ low, middle, high, quote, currency }) {
  const end = 1.15 * Math.max(high, quote || 0) + 1;
  const x = (value) => 10 + (value / end) * (WIDE - 20);
  const hill = points(low, middle, high, end);
  const words = say("spread_words", { low: about(low, currency), high: about(high, currency), middle: about(middle, currency) });
  return html`<figure><svg class="drawn" viewBox="0 0 ${WIDE} ${HIGH}" role="img" aria-label=${`${words}${quote ? ` ${say("quote")}: ${about(quote, currency)}.` : ""}`}>
    <path class="density" d=${`M${x(0)} 92 ${hill.map(([v, h]) => `L${x(v).toFixed(1)} ${(92 - 70 * h).toFixed(1)}`).join(" ")} L${x(end)} 92 Z`} />
    <line class="axis" x1="8" x2=${WIDE - 8} y1="92" y2="92" />
    ${[low, high].map((v, i) => html`<g><line class="mid" x1=${x(v)} x2=${x(v)} y1="86" y2="98" /><text x=${x(v)} y="112" text-anchor=${i ? "start" : "end"}>${about(v, currency)}</text></g>`)}
    ${quote ? html`<g><line class="quote" x1=${x(quote)} x2=${x(quote)} y1="16" y2="92" /><text x=${x(quote)} y="12" text-anchor="middle">${about(quote, currency)}</text></g>` : null}
  </svg></figure>`;
}

/** A log-normal hill through the three points: prices cannot fall below nought and have a long upper end. */
function points(low, middle, high, end) {
  const centre = Math.log(Math.max(middle, 1));
  // 1.2816 is the 90 % point of the standard normal
  const sigma = Math.max(0.06, (Math.log(Math.max(high, 2)) - Math.log(Math.max(low, 1))) / (2 * 1.2816));
  const values = Array.from({ length: 61 }, (_, i) => (end * (i + 0.5)) / 61);
  const heights = values.map((v) => Math.exp(-((Math.log(v) - centre) ** 2) / (2 * sigma ** 2)) / v);
  const most = Math.max(...heights);
  return values.map((v, i) => [v, heights[i] / most]);
}
