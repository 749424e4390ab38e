"use strict";
// The stitches of a part: read from the page's data, and drawn. Positions are whole units of 0.1 mm, y up.

const STITCH = 0, JUMP = 1, TRIM = 2;
const SEWN = 0, CARRIED = 1, MOVED = 2; // how the needle got to a penetration: by a stitch, along a jump, after a cut
const SHADES = 16;
const LIGHT = Math.PI / 3; // thread that runs across this direction catches the light
const BITMAP_BYTES = 96e6; // for the pictures kept along the way

function spread(runs, length, Kind) {
  const values = new Kind(length);
  for (let k = 0, from = 0; k < runs.length; k += 2) {
    values.fill(runs[k], from, from + runs[k + 1]);
    from += runs[k + 1];
  }
  return values;
}

/** Turn a part of the page's data into arrays by row, and by penetration. */
function readPart(raw) {
  const rows = raw.xy.length / 2;
  const x = new Int32Array(rows), y = new Int32Array(rows);
  for (let k = 0, px = 0, py = 0; k < rows; k++) {
    x[k] = px += raw.xy[2 * k];
    y[k] = py += raw.xy[2 * k + 1];
  }
  const kind = spread(raw.kind, rows, Uint8Array), stopOfRow = spread(raw.stop, rows, Int32Array);
  const roleOfRow = spread(raw.role, rows, Uint8Array);
  let total = 0;
  for (let k = 0; k < rows; k++) total += kind[k] === STITCH;
  const row = new Int32Array(total), how = new Uint8Array(total), stop = new Int32Array(total);
  const role = new Uint8Array(total), shade = new Uint8Array(total), cut = new Uint8Array(total);
  const ends = new Array(raw.stops.length).fill(0);
  let n = 0, jumped = false, parted = true;
  for (let k = 0; k < rows; k++) {
    if (kind[k] === STITCH) {
      row[n] = k;
      stop[n] = stopOfRow[k];
      role[n] = roleOfRow[k];
      const changed = n > 0 && stop[n] !== stop[n - 1];
      how[n] = n === 0 || parted || changed ? MOVED : jumped ? CARRIED : SEWN;
      if (how[n] === SEWN) {
        const a = row[n - 1], angle = Math.atan2(y[k] - y[a], x[k] - x[a]) - LIGHT;
        shade[n] = Math.min(SHADES - 1, Math.floor(Math.abs(Math.sin(angle)) * SHADES));
      }
      n++;
      ends[stopOfRow[k]] = n;
      jumped = parted = false;
    } else if (kind[k] === JUMP) {
      jumped = true;
    } else {
      parted = true;
      if (kind[k] === TRIM && n > 0) cut[n - 1] = 1;
    }
  }
  for (let k = 1; k < ends.length; k++) ends[k] = Math.max(ends[k], ends[k - 1]);
  let left = Infinity, bottom = Infinity, right = -Infinity, top = -Infinity;
  for (let k = 0; k < total; k++) {
    left = Math.min(left, x[row[k]]);
    right = Math.max(right, x[row[k]]);
    bottom = Math.min(bottom, y[row[k]]);
    top = Math.max(top, y[row[k]]);
  }
  return { raw, x, y, kind, row, how, stop, role, shade, cut, ends, total, box: [left, bottom, right, top] };
}

/** Colours of a thread as the light falls on it: the dark of its edge, its body, and the light along it. */
function shadesOf(colour) {
  const base = [1, 3, 5].map((k) => parseInt(colour.slice(k, k + 2), 16));
  const text = (rgb) => "rgb(" + rgb.map((v) => Math.round(v)).join(",") + ")";
  const edge = [], body = [], gleam = [];
  for (let k = 0; k < SHADES; k++) {
    const sheen = (k + 0.5) / SHADES, lit = base.map((v) => v * (0.8 + 0.2 * sheen));
    edge.push(text(lit.map((v) => v * 0.6)));
    body.push(text(lit));
    gleam.push(text(lit.map((v) => v + (255 - v) * (0.1 + 0.28 * sheen))));
  }
  return { edge, body, gleam };
}

function blank(width, height) {
  const canvas = document.createElement("canvas");
  canvas.width = width;
  canvas.height = height;
  return canvas;
}

/** Draws stitches of one part, in one view, in order; what it has drawn depends on nothing but how many. */
class Sewing {
  constructor(part, view, size, options) {
    this.part = part;
    this.view = view;
    this.size = size;
    this.options = options;
    this.threads = part.raw.stops.map((stop) => shadesOf(stop.colour));
    const slots = Math.max(4, Math.min(24, Math.floor(BITMAP_BYTES / (size.width * size.height * 4))));
    this.gap = Math.max(1500, Math.ceil(part.total / slots));
    this.kept = []; // kept[k] shows the first (k + 1) * gap penetrations
    this.main = this.sheet();
    this.ahead = null;
    this.coming = { canvas: blank(size.width, size.height), n: 0 };
    this.ready = false;
  }

  sheet() {
    return { canvas: blank(this.size.width, this.size.height), n: 0 };
  }

  /** Bring the picture to n penetrations, or as near as the time allows; true when it is there. */
  show(n, deadline) {
    const sheet = this.main, best = Math.min(Math.floor(n / this.gap), this.kept.length);
    if (sheet.n > n || best * this.gap > sheet.n) {
      this.reset(sheet, best);
    }
    this.draw(sheet, n, deadline);
    if (sheet.n === n) this.ready = true;
    return sheet.n === n;
  }

  reset(sheet, best) {
    const ctx = sheet.canvas.getContext("2d");
    ctx.setTransform(1, 0, 0, 1, 0, 0);
    ctx.clearRect(0, 0, this.size.width, this.size.height);
    if (best > 0) ctx.drawImage(this.kept[best - 1], 0, 0);
    sheet.n = best * this.gap;
  }

  /** Prepare what may be asked for next: the pale picture of all that is coming, then the pictures along the way. */
  prepare(deadline) {
    if (this.coming.n < this.part.total) {
      this.drawComing(deadline);
      return false;
    }
    const last = Math.floor(this.part.total / this.gap);
    if (this.kept.length >= last) {
      this.ahead = null;
      return true;
    }
    if (this.ahead === null) this.ahead = this.sheet();
    if (this.ahead.n < this.kept.length * this.gap) this.reset(this.ahead, this.kept.length);
    this.draw(this.ahead, last * this.gap, deadline);
    return false;
  }

  aim(ctx) {
    const { scale, x, y } = this.view, k = this.size.ratio;
    ctx.setTransform(scale * k, 0, 0, -scale * k, x * k, y * k);
  }

  draw(sheet, n, deadline) {
    const { part, options } = this, { row, how, stop, shade, cut } = part;
    const ctx = sheet.canvas.getContext("2d");
    this.aim(ctx);
    ctx.lineJoin = "round";
    const perUnit = this.view.scale * this.size.ratio, seen = this.seen();
    let i = sheet.n;
    while (i < n) {
      const upto = Math.min(n, (Math.floor(i / this.gap) + 1) * this.gap, i + 200);
      for (; i < upto; i++) {
        if (how[i] === SEWN) {
          this.stitch(ctx, row[i - 1], row[i], this.threads[stop[i]], shade[i], part.raw.stops[stop[i]].width, perUnit, seen);
        } else if (options.moves && i > 0) {
          this.move(ctx, row[i - 1], row[i], how[i], this.threads[stop[i]], perUnit);
        }
        if (options.moves && cut[i]) this.scissor(ctx, row[i], perUnit);
      }
      sheet.n = i;
      if (i % this.gap === 0 && this.kept.length === i / this.gap - 1) {
        const copy = blank(this.size.width, this.size.height);
        copy.getContext("2d").drawImage(sheet.canvas, 0, 0);
        this.kept.push(copy);
      }
      if (performance.now() > deadline) return;
    }
  }

  /** The rectangle of the plane that the view shows, a little enlarged. */
  seen() {
    const { scale, x, y } = this.view, { width, height, ratio } = this.size, edge = 20;
    return [-x / scale - edge, (y - height / ratio) / scale - edge, (width / ratio - x) / scale + edge, y / scale + edge];
  }

  stitch(ctx, a, b, thread, shade, width, perUnit, seen) {
    const { x, y } = this.part, ax = x[a], ay = y[a], bx = x[b], by = y[b];
    if ((ax < seen[0] && bx < seen[0]) || (ax > seen[2] && bx > seen[2])) return;
    if ((ay < seen[1] && by < seen[1]) || (ay > seen[3] && by > seen[3])) return;
    const pixels = width * perUnit;
    ctx.lineCap = pixels > 3 ? "round" : "butt";
    ctx.beginPath();
    ctx.moveTo(ax, ay);
    ctx.lineTo(bx, by);
    if (pixels > 1.6) {
      ctx.strokeStyle = thread.edge[shade];
      ctx.lineWidth = width * 1.25;
      ctx.stroke();
    }
    ctx.strokeStyle = thread.body[shade];
    ctx.lineWidth = Math.max(width, 1 / perUnit);
    ctx.stroke();
    if (pixels > 3) {
      ctx.strokeStyle = thread.gleam[shade];
      ctx.lineWidth = width * 0.35;
      ctx.stroke();
    }
  }

  move(ctx, a, b, how, thread, perUnit) {
    const { x, y } = this.part, pixel = 1 / perUnit, k = this.size.ratio;
    ctx.lineCap = "butt";
    ctx.lineWidth = 1.1 * k * pixel;
    ctx.setLineDash(how === CARRIED ? [5 * k * pixel, 2 * k * pixel] : [1.2 * k * pixel, 3 * k * pixel]);
    ctx.strokeStyle = how === CARRIED ? thread.edge[SHADES / 2] : this.options.moveColour;
    ctx.beginPath();
    ctx.moveTo(x[a], y[a]);
    for (let r = a + 1; r <= b; r++) ctx.lineTo(x[r], y[r]);
    ctx.stroke();
    ctx.setLineDash([]);
  }

  /** A cut of the thread: two short strokes that cross. */
  scissor(ctx, at, perUnit) {
    const { x, y } = this.part, k = this.size.ratio, r = Math.min(6, (3.2 * k) / perUnit);
    ctx.lineCap = "butt";
    ctx.lineWidth = (1.2 * k) / perUnit;
    ctx.strokeStyle = this.options.moveColour;
    ctx.beginPath();
    ctx.moveTo(x[at] - r, y[at] - r);
    ctx.lineTo(x[at] + r, y[at] + r);
    ctx.moveTo(x[at] - r, y[at] + r);
    ctx.lineTo(x[at] + r, y[at] - r);
    ctx.stroke();
  }

  drawComing(deadline) {
    const { row, how, x, y, total } = this.part, { canvas } = this.coming, ctx = canvas.getContext("2d");
    const perUnit = this.view.scale * this.size.ratio;
    this.aim(ctx);
    ctx.strokeStyle = this.options.comingColour;
    ctx.lineWidth = Math.max(1.2, 1 / perUnit);
    while (this.coming.n < total) {
      const upto = Math.min(total, this.coming.n + 400);
      ctx.beginPath();
      for (let i = this.coming.n; i < upto; i++) {
        if (how[i] !== SEWN) continue;
        if (i === this.coming.n || how[i - 1] !== SEWN) ctx.moveTo(x[row[i - 1]], y[row[i - 1]]);
        ctx.lineTo(x[row[i]], y[row[i]]);
      }
      ctx.stroke();
      this.coming.n = upto;
      if (performance.now() > deadline) return;
    }
  }
}
