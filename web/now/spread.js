// Labels along an edge: each as near as it can stand to where it belongs, none upon another. Pure.

/**
 * What wants to stand somewhere: the middle it would like, and its size.
 * @typedef {{at: number, size: number}} Wish
 */

/**
 * Return the start of each label, in the order given, all within [low, high] if they fit there at
 * all (else they run on past `high`), none overlapping, and each block of touching labels moved
 * as little as possible from where its members belong.
 * @param {readonly Wish[]} wishes
 * @param {number} low
 * @param {number} high
 * @param {number} [gap]
 * @returns {number[]}
 */
export function spread(wishes, low, high, gap = 0) {
  const order = wishes.map((_, index) => index).sort((a, b) => at(wishes, a) - at(wishes, b) || a - b);
  /** @type {Block[]} */
  let blocks = [];
  for (const index of order) {
    const size = (wishes[index]?.size ?? 0) + gap;
    blocks.push({ members: [index], size, centre: at(wishes, index), start: 0 });
    blocks = settle(blocks, low, high);
  }
  return starts(blocks, wishes, gap);
}

/** Labels that touch: they move as one. @typedef {{members: number[], size: number, centre: number, start: number}} Block */

/**
 * Place the blocks in [low, high], joining those that touch until none does.
 * @param {Block[]} blocks
 * @param {number} low
 * @param {number} high
 * @returns {Block[]}
 */
function settle(blocks, low, high) {
  for (const block of blocks) {
    block.start = Math.max(low, Math.min(high - block.size, block.centre - block.size / 2));
  }
  const clash = blocks.findIndex((block, index) => index > 0 && block.start < end(blocks[index - 1]));
  if (clash < 0) return blocks;
  const [above, below] = [blocks[clash - 1], blocks[clash]];
  if (!above || !below) return blocks;
  return settle([...blocks.slice(0, clash - 1), joined(above, below), ...blocks.slice(clash + 1)], low, high);
}

/** @param {Block} above @param {Block} below @returns {Block} */
function joined(above, below) {
  const n = above.members.length;
  const m = below.members.length;
  // Where each block's middle should be for its members' wishes, weighed by their number.
  const centre =
    (n * (above.centre + below.size / 2) + m * (below.centre - above.size / 2)) / (n + m);
  return { members: [...above.members, ...below.members], size: above.size + below.size, centre, start: 0 };
}

/** @param {Block | undefined} block */
function end(block) {
  return block ? block.start + block.size - 1e-6 : -Infinity;
}

/**
 * @param {readonly Block[]} blocks
 * @param {readonly Wish[]} wishes
 * @param {number} gap
 */
function starts(blocks, wishes, gap) {
  /** @type {number[]} */
  const result = Array(wishes.length).fill(0);
  for (const block of blocks) {
    let next = block.start + gap / 2;
    for (const index of block.members) {
      result[index] = next;
      next += (wishes[index]?.size ?? 0) + gap;
    }
  }
  return result;
}

/** @param {readonly Wish[]} wishes @param {number} index */
function at(wishes, index) {
  return wishes[index]?.at ?? 0;
}

/**
 * Marks along the top edge: the row (0, 1, ...) in which each label, written from `at` to the
 * right, touches no other; null where no row of `rows` has room.
 * @param {readonly Wish[]} wishes in rising order of `at`
 * @param {number} rows
 * @param {number} gap
 * @returns {(number | null)[]}
 */
export function rowsFor(wishes, rows, gap) {
  /** @type {number[]} */
  const ends = Array(rows).fill(-Infinity);
  return wishes.map(({ at: from, size }) => {
    const row = ends.findIndex((taken) => taken + gap <= from);
    if (row < 0) return null;
    ends[row] = from + size;
    return row;
  });
}
