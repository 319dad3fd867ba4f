// The predicted movement of the frame, as the program packs it, turned into where a point of a member goes.

import { dot, minus, plus } from "./geometry.js";

// `members` has the start and end of each member, `movement` is { points, most, shapes } of the page's data. Gives
// by(member, point) for FrameView.move, magnified `times`; null when nothing moves.
export function movedBy(members, { points, most, shapes }, shape, times) {
  if (!times || !most[shape]) return null;
  const bytes = Int8Array.from(atob(shapes[shape]), (c) => c.charCodeAt(0));
  const mm = (times * most[shape]) / 127;
  const moved = (member, k) => [0, 1, 2].map((axis) => mm * bytes[3 * (member * points + k) + axis]);
  return (member, p) => {
    const [from, to] = members[member];
    const along = minus(to, from);
    const share = Math.min(1, Math.max(0, dot(minus(p, from), along) / (dot(along, along) || 1)));
    const at = share * (points - 1), k = Math.min(points - 2, Math.floor(at)), rest = at - k;
    return plus(plus(p, moved(member, k), 1 - rest), moved(member, k + 1), rest);
  };
}
