// Polynomials with real coefficients: arrays in ascending powers of s (rad/s); complex numbers are {re, im}.

// Value of a real polynomial at s = j w: two real Horner schemes in -w^2.
export function polynomialAt(coefficients, w) {
  const u = -w * w;
  let even = 0;
  let odd = 0;
  for (let k = coefficients.length - 1; k >= 0; k--) {
    if (k % 2) odd = odd * u + coefficients[k];
    else even = even * u + coefficients[k];
  }
  return { re: even, im: odd * w };
}

// Squared magnitude of a real polynomial at s = j w.
export function squareAt(coefficients, w) {
  const u = -w * w;
  let [even, odd] = [0, 0];
  for (let k = coefficients.length - 1; k >= 0; k--) {
    if (k % 2) odd = odd * u + coefficients[k];
    else even = even * u + coefficients[k];
  }
  return even * even - odd * odd * u;
}

export function divide(a, b) {
  const size = b.re * b.re + b.im * b.im;
  return { re: (a.re * b.re + a.im * b.im) / size, im: (a.im * b.re - a.re * b.im) / size };
}

export function derivative(coefficients) {
  return coefficients.slice(1).map((c, k) => c * (k + 1));
}

// Roots of a polynomial by Aberth's simultaneous iteration, on coefficients scaled to a tame size.
export function roots(coefficients) {
  const zeros = coefficients.findIndex((c) => c !== 0);
  const rest = trimmed(coefficients).slice(Math.max(zeros, 0));
  const degree = rest.length - 1;
  const found = new Array(Math.max(zeros, 0)).fill({ re: 0, im: 0 });
  if (degree < 1) return found;
  const scale = Math.abs(rest[0] / rest[degree]) ** (1 / degree);
  const scaled = rest.map((c, k) => (c * scale ** k) / rest[0]);
  return [...found, ...aberth(scaled, degree).map(({ re, im }) => ({ re: re * scale, im: im * scale }))];
}

function aberth(c, degree) {
  const slope = derivative(c);
  const points = startingPoints(c, degree);
  for (let round = 0; round < 200; round++) {
    let largest = 0;
    points.forEach((z, i) => {
      const newton = divide(complexHorner(c, z), complexHorner(slope, z));
      const pull = points.reduce((sum, other, j) => (j === i ? sum : add(sum, divide({ re: 1, im: 0 }, subtract(z, other)))), { re: 0, im: 0 });
      const step = divide(newton, subtract({ re: 1, im: 0 }, times(newton, pull)));
      if (!Number.isFinite(step.re + step.im)) return;
      points[i] = subtract(z, step);
      largest = Math.max(largest, Math.hypot(step.re, step.im) / Math.hypot(z.re, z.im));
    });
    if (largest < 1e-15) break;
  }
  return points;
}

// Magnitudes from the ratios of neighbouring coefficients: corners may be many decades apart.
function startingPoints(c, degree) {
  return Array.from({ length: degree }, (_, k) => {
    const size = c[k] && c[k + 1] ? Math.abs(c[k] / c[k + 1]) : 1;
    const angle = Math.PI * (0.75 + (0.5 * (k + 0.37)) / degree);
    return { re: size * Math.cos(angle), im: size * Math.sin(angle) };
  });
}

const add = (a, b) => ({ re: a.re + b.re, im: a.im + b.im });
const subtract = (a, b) => ({ re: a.re - b.re, im: a.im - b.im });
const times = (a, b) => ({ re: a.re * b.re - a.im * b.im, im: a.re * b.im + a.im * b.re });
const complexHorner = (c, z) => c.reduceRight((sum, value) => add(times(sum, z), { re: value, im: 0 }), { re: 0, im: 0 });
export const trimmed = (c) => c.slice(0, c.findLastIndex((value) => value !== 0) + 1);

// P, s P' and s^2 P'' at s = j w in one pass, each as real and imaginary part, into `into`.
export function withSlopes(coefficients, w, into) {
  const u = -w * w;
  let [even, even1, even2, odd, odd1, odd2] = [0, 0, 0, 0, 0, 0];
  for (let k = coefficients.length - 1; k >= 0; k--) {
    const c = coefficients[k];
    if (k % 2) {
      odd = odd * u + c;
      odd1 = odd1 * u + k * c;
      odd2 = odd2 * u + k * (k - 1) * c;
    } else {
      even = even * u + c;
      even1 = even1 * u + k * c;
      even2 = even2 * u + k * (k - 1) * c;
    }
  }
  into[0] = even;
  into[1] = odd * w;
  into[2] = even1;
  into[3] = odd1 * w;
  into[4] = even2;
  into[5] = odd2 * w;
}
