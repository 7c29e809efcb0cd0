/** Where the model is off and why, in words around numbers that are worked out from the rows. */
import { setInText } from '../../src/engine/index.ts';
import { isSound, type Result, resultOf } from './results.ts';
import { markdownTable, megabytes, percent, signed } from './table.ts';

export function reading(results: readonly Result[]): string {
  return [
    '## Where it is off, and why',
    smallWrites(results),
    smallReads(results),
    longReads(results),
    requestSize(results),
    longWrites(results),
  ].join('\n\n');
}

function nic(results: readonly Result[], bytes: number, kind: 'write' | 'read'): Result {
  const title = `host 1 ${bytes} B ${kind}`;
  const found = results.find((r) => r.title === title);
  if (found === undefined) throw new Error(`accuracy: no row '${title}'`);
  return found;
}

const nanoseconds = (bytes: number, rate: number) => ((bytes / rate) * 1e9).toFixed(1);

function smallWrites(results: readonly Result[]): string {
  const sizes = [16, 32, 64, 65, 128, 129, 192, 256, 257, 512, 513];
  const rows = sizes.map((bytes) => {
    const { measured, expected, ceiling } = nic(results, bytes, 'write');
    return [`${bytes} B`, ...[measured, expected, ceiling].map((r) => nanoseconds(bytes, r))];
  });
  const rate = (nic(results, 64, 'write').measured / 64 / 1e6).toFixed(1);
  return `**Small writes are the device's, not the link's.** The network card writes 16, 32 and 64 B at nearly
one rate on every host, ${rate} million a second at 64 B. No default has a time per command, so expected
is far too fast at 16 B; the high end of the pause per packet barely covers it. Past 128 B the time
jumps, and again past 256 B and 512 B: the device seems to work in steps of 128 B, which is why 129 B,
still one packet on the wire, is outside the range. Nanoseconds per write, host 1:

${markdownTable(['size', 'measured', 'expected', 'at the ceiling'], rows)}

The source states no pause and no step, so none is given to the part. Fitted ones are below.`;
}

function smallReads(results: readonly Result[]): string {
  const { measured, expected } = nic(results, 64, 'read');
  const perSecond = measured / 64;
  const inFlight = (perSecond * 400e-9).toFixed(0);
  return `**Small reads follow the number in flight.** 64 B reads came at
${(perSecond / 1e6).toFixed(1)} million a second; with a round trip of 400 ns that is ${inFlight} at once, and the tags allow 32.
The default expects 16, so expected is ${signed(expected / measured - 1)} off, and the range is as wide as 8
to 32. The engine's data sheet settles it.`;
}

function longReads(results: readonly Result[]): string {
  const rows = [256, 512, 1024, 2048].map((bytes) => {
    const { measured, expected, low } = nic(results, bytes, 'read');
    return [`${bytes} B`, ...[measured, expected, low].map(megabytes)];
  });
  return `**Long reads are expected too fast.** Expected takes completions of a full Max_Payload_Size on a
full wire; real hosts return smaller ones at times, and the dip at 1024 B, twice the largest request,
shows a cost of the engine per DMA that no default has. Host 1:

${markdownTable(['size', 'measured', 'expected', 'low'], rows)}`;
}

/** The kit's reads outside the range, once more with requests of 128 B. */
function requestSize(results: readonly Result[]): string {
  const missed = results.filter(
    (r) => r.system.folder === 'fpga-kit' && r.standing === 'below expectation',
  );
  const rows = missed.map((r) => {
    const path = ['module', 'override', 'dma', 'request_size'];
    const text = setInText(r.row.source.text, path, '128 B');
    const other = resultOf(r.system, { ...r.row, source: { ...r.row.source, text } });
    const range = `${megabytes(other.low)} to ${megabytes(other.high)}`;
    return [
      r.title,
      megabytes(r.measured),
      `${megabytes(r.low)} to ${megabytes(r.high)}`,
      megabytes(r.expected),
      range,
      megabytes(other.expected),
    ];
  });
  return `**The kit's reads miss the range where latency should bind.** The source gives the reads outstanding,
not their size; the default is 512 B, and 4 or 8 of those keep the wire full. With requests of 128 B,
which is a guess from the rates and counts nowhere on this page, the same rows would be:

${markdownTable(['row', 'measured', 'range, 512 B', 'expected', 'range, 128 B', 'expected'], rows)}

What settles it: the request size in the engine's data sheet, or one look at a trace.`;
}

function longWrites(results: readonly Result[]): string {
  const long = results.filter(
    (r) =>
      r.kind === 'write' &&
      isSound(r) &&
      (r.system.folder !== 'server-nic' || / (512|1024|1536|2048) B /.test(r.title)),
  );
  const shares = long.map((r) => r.measured / r.ceiling);
  const least = percent(Math.min(...shares));
  const most = percent(Math.max(...shares), 1);
  return `**Long writes reach ${least} to ${most} of the ceiling,** depending on the engine alone. Expected stands in
the middle of them by construction (see above); only the part's own pause narrows it.`;
}
