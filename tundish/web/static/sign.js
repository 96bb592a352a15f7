// Signature on the screen: points in thousandths of the field's height, three times as wide as high, as the event wants them.
import { html, useEffect, useRef, useState } from "./ui.js";
import { say } from "./say.js";

const HIGH = 1000;
const WIDE = 3000;
const MOST = 4000;

/** done gets the strokes whenever a stroke ends. */
export function Sign({ done }) {
  const field = useRef(null);
  const strokes = useRef([]);
  const [count, set] = useState(0);
  useEffect(() => draw(field.current, strokes.current), [count]);
  const put = (event, begins) => {
    const canvas = field.current;
    const box = canvas.getBoundingClientRect();
    const point = [Math.round(((event.clientX - box.left) / box.width) * WIDE), Math.round(((event.clientY - box.top) / box.height) * HIGH)];
    const inside = [Math.min(WIDE, Math.max(0, point[0])), Math.min(HIGH, Math.max(0, point[1]))];
    if (begins) strokes.current.push([inside]);
    else if (far(strokes.current.at(-1)?.at(-1), inside) && strokes.current.flat().length < MOST) strokes.current.at(-1).push(inside);
    draw(canvas, strokes.current);
  };
  const down = (event) => {
    if (strokes.current.length >= 64) return;
    event.target.setPointerCapture(event.pointerId);
    put(event, true);
  };
  const up = () => {
    set(strokes.current.length);
    done(strokes.current.map((line) => [...line]));
  };
  const clear = () => {
    strokes.current = [];
    set(0);
    done([]);
  };
  return html`<div class="sign">
    <canvas ref=${field} width="900" height="300" role="img" aria-label=${say("sign_field", { count })}
      onPointerDown=${down} onPointerMove=${(e) => e.buttons && strokes.current.length && put(e, false)} onPointerUp=${up} onPointerCancel=${up}></canvas>
    <button class="tap low" disabled=${!count} onClick=${clear}>${say("sign_again")}</button>
  </div>`;
}

function far(last, point) {
  return last && Math.hypot(last[0] - point[0], last[1] - point[1]) > 12;
}

function draw(canvas, strokes) {
  const pen = canvas.getContext("2d");
  const scale = canvas.height / HIGH;
  pen.clearRect(0, 0, canvas.width, canvas.height);
  Object.assign(pen, { lineWidth: 5, lineCap: "round", lineJoin: "round", strokeStyle: "#16262a" });
  for (const line of strokes) {
    pen.beginPath();
    line.forEach(([x, y], i) => pen[i ? "lineTo" : "moveTo"](x * scale, y * scale));
    if (line.length === 1) pen.lineTo(line[0][0] * scale + 0.1, line[0][1] * scale);
    pen.stroke();
  }
}
