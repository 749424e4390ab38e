"use strict";
// The picture of a part in its sewing field, at one moment, zoomed and moved; uses the drawing of player_sewing.js.

const LARGEST_ZOOM = 60;

/** A canvas that shows one part at one moment, and can be zoomed and moved. */
class Picture {
  constructor(canvas, colours) {
    this.canvas = canvas;
    this.ctx = canvas.getContext("2d", { alpha: false });
    this.colours = colours;
    this.options = { moves: true, coming: true };
    this.part = null;
    this.n = 0;
    this.turnedAt = -Infinity;
    this.now = null;
    this.before = null;
    this.busy = true; // whether the picture is still catching up with what is asked for
  }

  setPart(part) {
    this.part = part;
    this.now = this.before = null;
    this.fit();
    this.renew();
  }

  /** Draw everything anew: the size, the colours or what is shown has changed. */
  renew() {
    const box = this.canvas.getBoundingClientRect(), ratio = Math.min(2, window.devicePixelRatio || 1);
    const width = Math.max(1, Math.round(box.width * ratio)), height = Math.max(1, Math.round(box.height * ratio));
    if (this.canvas.width !== width || this.canvas.height !== height) {
      this.canvas.width = width;
      this.canvas.height = height;
      this.now = null;
      if (this.part) this.fit();
    }
    this.size = { width, height, ratio };
    if (this.now && this.now.ready) this.before = this.now;
    this.now = null;
    this.turnedAt = -Infinity;
  }

  frameBox() {
    const [left, bottom, right, top] = this.part.box, field = this.part.raw.field;
    if (!field) return [left - 40, bottom - 40, right + 40, top + 40];
    const [w, h] = field;
    return [Math.min(left, -w / 2), Math.min(bottom, -h / 2), Math.max(right, w / 2), Math.max(top, h / 2)];
  }

  fit() {
    const box = this.canvas.getBoundingClientRect(), [left, bottom, right, top] = this.frameBox(), edge = 12, foot = 50;
    const across = (box.width - 2 * edge) / (right - left), down = (box.height - edge - foot) / (top - bottom);
    const scale = Math.max(1e-3, Math.min(across, down));
    this.least = scale;
    this.view = {
      scale,
      x: box.width / 2 - (scale * (left + right)) / 2,
      y: (box.height - foot + edge) / 2 + (scale * (bottom + top)) / 2,
    };
    this.turned();
  }

  get fitted() {
    return this.view.scale <= this.least * 1.001;
  }

  turned() {
    this.turnedAt = performance.now();
  }

  /** Zoom by a factor about a place on the canvas; out no further than the whole field. */
  zoom(factor, px, py) {
    const scale = Math.min(this.least * LARGEST_ZOOM, this.view.scale * factor);
    if (scale <= this.least) {
      this.fit();
      return;
    }
    const k = scale / this.view.scale;
    this.view = { scale, x: px - (px - this.view.x) * k, y: py - (py - this.view.y) * k };
    this.hold();
    this.turned();
  }

  pan(dx, dy) {
    this.view = { scale: this.view.scale, x: this.view.x + dx, y: this.view.y + dy };
    this.hold();
    this.turned();
  }

  /** Keep some of the part in sight. */
  hold() {
    const box = this.canvas.getBoundingClientRect(), [left, bottom, right, top] = this.frameBox(), v = this.view, keep = 60;
    v.x = Math.min(box.width - keep - v.scale * left, Math.max(keep - v.scale * right, v.x));
    v.y = Math.min(box.height - keep + v.scale * top, Math.max(keep + v.scale * bottom, v.y));
  }

  /** Draw what can be drawn in a few milliseconds; true if there is more to do. */
  frame(time) {
    if (!this.part || !this.size) return false;
    const settled = time - this.turnedAt > 140;
    const stale = !this.now || this.now.view !== this.view;
    if (stale && (settled || !this.now)) {
      if (this.now && this.now.ready) this.before = this.now;
      const { moves } = this.options, { moveColour, comingColour } = this.colours();
      this.now = new Sewing(this.part, this.view, this.size, { moves, moveColour, comingColour });
    }
    const deadline = performance.now() + 9;
    const there = this.now.show(this.n, deadline);
    let shown = this.now;
    if (this.now.ready) this.before = null;
    else if (this.before) {
      this.before.show(this.n, performance.now() + 3);
      shown = this.before;
    }
    const prepared = there && this.now.prepare(performance.now() + 5);
    this.compose(shown);
    this.busy = !there || this.now.view !== this.view || this.now.coming.n < this.part.total;
    return !there || !prepared || this.now.view !== this.view;
  }

  compose(shown) {
    const { ctx, size, view, part } = this, colours = this.colours(), k = size.ratio;
    ctx.setTransform(1, 0, 0, 1, 0, 0);
    ctx.fillStyle = colours.table;
    ctx.fillRect(0, 0, size.width, size.height);
    ctx.setTransform(k, 0, 0, k, 0, 0);
    this.cloth(colours);
    // a picture of another view stands in, stretched, until this one is drawn
    const s = view.scale / shown.view.scale;
    ctx.setTransform(s, 0, 0, s, (view.x - s * shown.view.x) * k, (view.y - s * shown.view.y) * k);
    if (this.options.coming) ctx.drawImage(shown.coming.canvas, 0, 0);
    ctx.drawImage(shown.main.canvas, 0, 0);
    ctx.setTransform(k, 0, 0, k, 0, 0);
    if (this.n > 0) {
      const at = part.row[this.n - 1];
      this.needle(view.x + part.x[at] * view.scale, view.y - part.y[at] * view.scale);
    }
    this.scaleBars(colours);
  }

  cloth(colours) {
    const { ctx, view } = this, [left, bottom, right, top] = this.frameBox(), field = this.part.raw.field;
    const X = (u) => view.x + u * view.scale, Y = (u) => view.y - u * view.scale;
    ctx.fillStyle = colours.cloth;
    ctx.beginPath();
    ctx.roundRect(X(left), Y(top), (right - left) * view.scale, (top - bottom) * view.scale, field ? 10 : 4);
    ctx.fill();
    if (!field) return;
    const [w, h] = field;
    ctx.strokeStyle = colours.field;
    ctx.lineWidth = 1.5;
    ctx.beginPath();
    ctx.roundRect(X(-w / 2), Y(h / 2), w * view.scale, h * view.scale, 10);
    ctx.stroke();
    // marks at the middle of each side and a cross at the centre, as on a frame
    ctx.lineWidth = 1;
    ctx.beginPath();
    for (const [ax, ay, bx, by] of [
      [0, h / 2, 0, h / 2 - 40], [0, -h / 2, 0, -h / 2 + 40], [-w / 2, 0, -w / 2 + 40, 0], [w / 2, 0, w / 2 - 40, 0],
      [-20, 0, 20, 0], [0, -20, 0, 20],
    ]) {
      ctx.moveTo(X(ax), Y(ay));
      ctx.lineTo(X(bx), Y(by));
    }
    ctx.stroke();
  }

  needle(x, y) {
    const { ctx } = this;
    for (const [colour, width] of [["#ffffff", 4], ["#1d1d1f", 1.6]]) {
      ctx.strokeStyle = colour;
      ctx.lineWidth = width;
      ctx.beginPath();
      ctx.arc(x, y, 5.5, 0, 2 * Math.PI);
      ctx.stroke();
    }
  }

  /** Lengths to compare with, in mm and in inches. */
  scaleBars(colours) {
    const { ctx, size } = this, foot = size.height / size.ratio;
    ctx.fillStyle = colours.table;
    ctx.globalAlpha = 0.85;
    ctx.beginPath();
    ctx.roundRect(5, foot - 38, 150, 33, 4);
    ctx.fill();
    ctx.globalAlpha = 1;
    this.scaleBar(colours, foot - 25, 10, [1, 2, 5, 10, 20, 50, 100], (length) => length + " mm");
    const parts = { 0.0625: "1/16", 0.125: "1/8", 0.25: "1/4", 0.5: "1/2" };
    this.scaleBar(colours, foot - 10, 254, [0.0625, 0.125, 0.25, 0.5, 1, 2, 4], (length) => (parts[length] || length) + " in");
  }

  scaleBar(colours, y, units, lengths, name) {
    const { ctx } = this, fitting = lengths.filter((length) => length * units * this.view.scale <= 90);
    const length = fitting.length ? fitting[fitting.length - 1] : lengths[0], x = 12.5, end = x + length * units * this.view.scale;
    ctx.strokeStyle = ctx.fillStyle = colours.ink;
    ctx.lineWidth = 1.2;
    ctx.beginPath();
    ctx.moveTo(x, y - 7);
    ctx.lineTo(x, y - 1);
    ctx.moveTo(x, y - 4);
    ctx.lineTo(end, y - 4);
    ctx.moveTo(end, y - 7);
    ctx.lineTo(end, y - 1);
    ctx.stroke();
    ctx.font = "12px system-ui, sans-serif";
    ctx.textBaseline = "middle";
    ctx.fillText(name(length), end + 6, y - 3.5);
  }
}
