// The balance with one thing at another station, worked out from what the last report gives: the
// same arithmetic as the server's, which has the last word once the thing is kept there.

/** @import { BalanceReport, BallastResult, Loading } from "./answers.d.ts" */

/** @typedef {{ kind: "item" | "ballast", name: string, station: number }} Moved */

const SAME_PLACE_MM = 1e-6;

/**
 * @param {BalanceReport} report
 * @param {Moved | null} moved
 * @param {number | null} [mostG] what the place of ballast holds
 * @returns {BalanceReport}
 */
export function withMoved(report, moved, mostG = null) {
  if (!moved) return report;
  if (moved.kind === "item") return withItem(report, moved);
  return {
    ...report,
    ballast: report.ballast.map((one) =>
      one.place === moved.name ? ballastAt(report, one, moved.station, mostG) : one,
    ),
  };
}

/**
 * @param {BalanceReport} report
 * @param {Moved} moved
 * @returns {BalanceReport}
 */
function withItem(report, moved) {
  const item = report.entries.find((one) => one.part === moved.name && one.stage === "fitted");
  if (!item) return report;
  const by = moved.station - item.station_mm;
  const loadings = report.loadings.map((loading) => {
    const mass = item.mass_g * (item.fuel ? loading.fuel_share : 1);
    const balance = loading.balance_mm + (mass * by) / loading.mass_g;
    return { ...loading, balance_mm: balance, in_range: isIn(balance, report.range_mm) };
  });
  const now = {
    ...report,
    loadings,
    entries: report.entries.map((one) =>
      one === item ? { ...one, station_mm: moved.station } : one,
    ),
  };
  return {
    ...now,
    ballast: report.ballast.map((one) => ballastAt(now, one, one.station_mm, null)),
    stations: report.stations.map((one) => ({
      ...one,
      loadings: one.loadings.map((at, number) => ({
        ...at,
        from_balance_mm: one.station_mm - loadings[number].balance_mm,
      })),
    })),
  };
}

/**
 * @param {number} balance
 * @param {[number, number] | null} range
 */
const isIn = (balance, range) => (range ? range[0] <= balance && balance <= range[1] : null);

// The least ballast at a station that brings every loading into the range: for each end of it,
// low (W + B) <= M + B station <= high (W + B).
/**
 * @param {BalanceReport} report
 * @param {BallastResult} ballast
 * @param {number} station
 * @param {number | null} mostG
 * @returns {BallastResult}
 */
function ballastAt(report, ballast, station, mostG) {
  const found = least(report.loadings, report.range_mm, station);
  const isTooMuch = found !== null && mostG !== null && found > mostG;
  return {
    ...ballast,
    station_mm: station,
    least_g: isTooMuch ? null : found,
    least_sigma_g: null,
    to_middle_g: null,
    problem: found === null || isTooMuch ? "none at this place will do" : "",
  };
}

/**
 * @param {Loading[]} loadings
 * @param {[number, number] | null} range
 * @param {number} station
 * @returns {number | null} null where none will do
 */
export function least(loadings, range, station) {
  if (!range) return null;
  let [low, high] = [0, Infinity];
  for (const { mass_g: mass, balance_mm: balance } of loadings) {
    for (const [limit, sign] of [
      [range[0], 1],
      [range[1], -1],
    ]) {
      const slope = sign * (station - limit);
      const need = sign * mass * (limit - balance);
      if (Math.abs(slope) < SAME_PLACE_MM) high = need <= 0 ? high : -Infinity;
      else if (slope > 0) low = Math.max(low, need / slope);
      else high = Math.min(high, need / slope);
    }
  }
  return low > high ? null : low;
}
