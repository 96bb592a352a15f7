// Ways between the safety states of a pocketed call: tundish.plan.pocket_walk for a phone.

/** { names, number, money, through, step, outside, useful, lawful, home }; money and through are s x s, row by row. */
export function walkOf(head, arrays) {
  const number = head.states.length;
  const money = new Float64Array(number * number).fill(Infinity);
  const through = new Int16Array(number * number).fill(-1);
  const step = new Map();
  for (let i = 0; i < number; i++) money[i * number + i] = 0;
  for (let i = 0; i < arrays.moves.length; i += 3) {
    const [a, b, s] = arrays.moves.subarray(i, i + 3);
    money[a * number + b] = head.steps[s].money;
    through[a * number + b] = a;
    step.set(a * number + b, s);
  }
  shorten(money, through, number);
  const outside = new Uint8Array(number);
  for (const i of head.outside) outside[i] = 1;
  let first = 0;
  const lawful = head.lawful.map((many) => arrays.lawful.subarray(first, (first += many)));
  return { names: head.states, number, money, through, step, outside, useful: arrays.useful, lawful, home: head.home };
}

/** Floyd 1962: the cheapest way from each state to each. */
function shorten(money, through, number) {
  for (let k = 0; k < number; k++) {
    for (let i = 0; i < number; i++) {
      const first = money[i * number + k];
      if (first === Infinity) continue;
      for (let j = 0; j < number; j++) {
        const longer = first + money[k * number + j];
        if (longer < money[i * number + j]) {
          money[i * number + j] = longer;
          through[i * number + j] = through[k * number + j];
        }
      }
    }
  }
}

/** The state nearest to each where a demand is met, -1 for none. here: the state of the machine now, useful or not. */
export function nearest(walk, demand, here) {
  const at = [...walk.lawful[demand]].filter((s) => walk.useful[s] || s === here || s === walk.home);
  return Int16Array.from({ length: walk.number }, (_, from) => {
    let best = -1;
    for (const to of at) {
      const way = walk.money[from * walk.number + to];
      if (way < (best < 0 ? Infinity : walk.money[from * walk.number + best])) best = to;
    }
    return best;
  });
}

/** Numbers of the steps of the cheapest way. */
export function way(walk, start, end) {
  const steps = [];
  for (let to = end; to !== start; ) {
    const from = walk.through[start * walk.number + to];
    steps.unshift(walk.step.get(from * walk.number + to));
    to = from;
  }
  return steps;
}
