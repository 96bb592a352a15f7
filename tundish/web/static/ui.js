// The few names that every page uses, from one place.
import { h, render, Fragment } from "./vendor/preact.js";
import { useEffect, useMemo, useRef, useState } from "./vendor/preact-hooks.js";
import { computed, effect, signal } from "./vendor/signals.js";
import htm from "./vendor/htm.js";

export const html = htm.bind(h);
export { Fragment, computed, effect, h, render, signal, useEffect, useMemo, useRef, useState };
