"use strict";
// Gaussian evidence of readings that share their causes, with and without a slip.

// Inverse and natural-log determinant of a small symmetric positive definite matrix, by its triangle.
function invert(matrix, n) {
  const low = Float64Array.from(matrix);
  let logDet = 0;
  for (let j = 0; j < n; j++) {
    let d = low[j * n + j];
    for (let k = 0; k < j; k++) d -= low[j * n + k] ** 2;
    const root = Math.sqrt(d);
    low[j * n + j] = root;
    logDet += 2 * Math.log(root);
    for (let i = j + 1; i < n; i++) {
      let x = low[i * n + j];
      for (let k = 0; k < j; k++) x -= low[i * n + k] * low[j * n + k];
      low[i * n + j] = x / root;
    }
  }
  const inverse = new Float64Array(n * n), x = new Float64Array(n);
  for (let c = 0; c < n; c++) {
    for (let i = 0; i < n; i++) {
      let sum = i === c ? 1 : 0;
      for (let k = 0; k < i; k++) sum -= low[i * n + k] * x[k];
      x[i] = sum / low[i * n + i];
    }
    for (let i = n - 1; i >= 0; i--) {
      let sum = x[i];
      for (let k = i + 1; k < n; k++) sum -= low[k * n + i] * x[k];
      x[i] = sum / low[i * n + i];
    }
    for (let i = 0; i < n; i++) inverse[i * n + c] = x[i];
  }
  return { inverse, logDet };
}

// Covariance of predictions: what uncertain values share, and the meter's own errors with added variance.
function covarianceOf(loading, spread, noise, extra) {
  const n = loading.length, out = new Float64Array(n * n);
  for (let r = 0; r < n; r++) {
    for (let s = 0; s <= r; s++) {
      let sum = noise[r * n + s];
      const a = loading[r], b = loading[s];
      for (let p = 0; p < spread.length; p++) sum += a[p] * b[p] * spread[p] * spread[p];
      out[r * n + s] = out[s * n + r] = sum;
    }
    out[r * n + r] += extra[r];
  }
  return out;
}

// Log evidence of all readings, of each given the others, and the misfit of each in standard deviations.
function gaussian(c, residual, covariance) {
  const n = residual.length, weighted = new Float64Array(n);
  if (!n) return { whole: 0, alone: [], weighted, inverse: weighted, misfit: [], logDet: 0 };
  const { inverse, logDet } = invert(covariance, n);
  let distance = 0;
  for (let r = 0; r < n; r++) {
    for (let s = 0; s < n; s++) weighted[r] += inverse[r * n + s] * residual[s];
    distance += weighted[r] * residual[r];
  }
  const alone = [], misfit = [];
  for (let r = 0; r < n; r++) {
    const precision = inverse[r * n + r];
    alone.push(-0.5 * (weighted[r] ** 2 / precision - Math.log(precision) + c.log2pi));
    misfit.push(weighted[r] / Math.sqrt(precision));
  }
  return { whole: -0.5 * (distance + logDet + n * c.log2pi), alone, weighted, inverse, misfit, logDet };
}

// Things by falling weight; what differs by rounding alone keeps its own order.
function heaviest(c, things, weightOf) {
  const scale = 10 ** c.same;
  return things.map((x, k) => [Math.round(weightOf(x) * scale), k, x])
    .sort((a, b) => (a[0] === b[0] ? a[1] - b[1] : b[0] - a[0])).map(([, , x]) => x);
}

function logSum(numbers) {
  const peak = Math.max(...numbers);
  if (peak === -Infinity) return peak;
  return peak + Math.log(numbers.reduce((sum, x) => sum + Math.exp(x - peak), 0));
}

function sum(numbers) {
  return numbers.reduce((a, b) => a + b, 0);
}
