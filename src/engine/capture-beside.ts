/** Lays a captured bus beside what a case predicts of it. */
import { type AccountId, accountIndex, accounts } from '../model/accounts.ts';
import type { LedgerRow } from '../model/answer.ts';
import type { CaptureBeside, CaptureDocument } from '../model/capture.ts';
import { busCase, busPlan, rateBus } from '../system/bus/index.ts';
import { type Library, type Read, readCase, type SourceFile } from '../system/read/index.ts';
import { busRefusals } from './bus.ts';

/** A module with data that asks for nothing: the lines show the same as a bus nobody wants. */
const unseen: ReadonlySet<AccountId> = new Set(['source_gap', 'setup', 'request_stall', 'idle']);

/**
 * The document with the prediction of a case beside it.
 *
 * @returns problems of the case, or that its module is on no parallel bus
 */
export function captureBeside(
  document: CaptureDocument,
  source: SourceFile,
  library: Library,
): Read<CaptureDocument> {
  const read = readCase(source, library);
  if (!read.ok) return read;
  const c = read.value;
  const of = busCase(c);
  const obstacle =
    of === undefined || document.bus === undefined
      ? 'one of them is of no parallel bus'
      : c.streams.length === 0
        ? 'a case without streams'
        : busRefusals(of)[0];
  if (of === undefined || obstacle !== undefined) {
    const place = { file: source.file, line: 1, column: 1 };
    const expected = 'a capture of a parallel bus, and a case whose module is on one';
    const next = 'leave --case out, or name the case of this bus';
    const problem = { code: 'no-bus', place, expected, got: obstacle ?? 'none', next };
    return { ok: false, problems: [problem] };
  }
  const plan = busPlan(of);
  const { links, streams } = rateBus(plan);
  const rate = document.bus?.total.rate;
  const beside: CaptureBeside = {
    case: { title: c.title, file: source.file },
    hop: plan.hop,
    link: plan.link,
    accounts: pair(links[0]!.ledger, document.ledger.ledger),
    predicted: {
      low: streams.reduce((sum, s) => sum + s.sustained.low, 0),
      expected: streams.reduce((sum, s) => sum + s.sustained.expected, 0),
      high: streams.reduce((sum, s) => sum + s.sustained.high, 0),
      ceiling: Math.max(...streams.map((s) => s.ceiling)),
    },
    ...(rate === undefined ? {} : { captured: rate }),
  };
  return { ok: true, value: { ...document, beside }, warnings: read.warnings };
}

function pair(predicted: readonly LedgerRow[], captured: readonly LedgerRow[]) {
  const seen = (id: AccountId): AccountId => (unseen.has(id) ? 'idle' : id);
  const sum = (rows: readonly LedgerRow[], id: AccountId) =>
    rows.reduce((all, row) => (seen(row.account) === id ? all + row.share : all), 0);
  return accounts
    .map(({ id }) => ({
      account: id,
      predicted: sum(predicted, id),
      captured: sum(captured, id),
    }))
    .filter((row) => row.predicted > 0 || row.captured > 0)
    .sort((a, b) => accountIndex[a.account] - accountIndex[b.account]);
}
