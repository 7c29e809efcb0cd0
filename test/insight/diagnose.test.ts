/** Each rule of the diagnosis: one change of a healthy path, one finding, and no other. */
import { readFileSync } from 'node:fs';
import fc from 'fast-check';
import { beforeAll, describe, expect, test } from 'vitest';
import {
  caseOfDump,
  compareDumps,
  diagnoseDump,
  documentOf,
  notSeenBelow,
} from '../../src/engine/index.ts';
import { diagnosisFindingIds } from '../../src/insight/diagnose/index.ts';
import { topologyFindingIds } from '../../src/insight/topology/index.ts';
import type { FunctionDiagnosis } from '../../src/model/diagnosis.ts';
import { diagnosisText } from '../../src/report/index.ts';
import '../seed.ts';
import { spaceOf } from '../registers/images.ts';
import { allImages } from '../registers/made-images.ts';
import { changes } from './diagnose-changes.ts';
import { Bench, captured, healthy, neighbour, path, train } from './diagnose-rig.ts';

const { root, upstream, downstream, endpoint } = path;
const PCIE = 'PCI Express';
const AER = 'Advanced Error Reporting';

let good: Bench;
beforeAll(async () => {
  good = await healthy();
});

function diagnosed(bench: Bench, address: string = endpoint): FunctionDiagnosis {
  const asked = diagnoseDump(bench.document(), address);
  if (!asked.ok) throw new Error(JSON.stringify(asked.problems));
  return asked.value.functions[0]!;
}

describe('a healthy path', () => {
  test('gets no finding, and what it allows is what it could', () => {
    const { findings, rates, missing, path: steps } = diagnosed(good);
    expect(findings).toEqual([]);
    expect(rates!.asFound).toEqual(rates!.allRight);
    expect(missing).toEqual([]);
    expect(steps.map((s) => s.what)).toEqual([
      'root port',
      'upstream port',
      'downstream port',
      'endpoint',
    ]);
  });

  test('stays below what its narrowest Link carries', () => {
    const { rates } = diagnosed(good);
    // 8 GT/s x2 after 128b/130b: 2 x 0.984615 GB/s (PCI Express Base Specification §4.2.2).
    expect(rates!.asFound.write).toBeLessThan(1_969_230_769);
    expect(rates!.asFound.write).toBeGreaterThan(0.8 * 1_969_230_769);
  });
});

describe('one change of a healthy path brings one finding', () => {
  test.each(changes)('%s', (_, change, id, level) => {
    const bench = good.copy();
    change(bench);
    const { findings } = diagnosed(bench);
    expect(findings.map((f) => f.id)).toEqual([id]);
    const [only] = findings;
    expect(only!.level).toBe(level);
    expect(only!.clause).not.toBe('');
    expect(only!.next).not.toBe('');
    // A price, or the reason for none; never both missing unless it costs nothing.
    if (only!.notPriced === undefined && only!.share === 0) expect(only!.level).toBe('ok');
  });

  test('both kinds of messages enabled at once', async () => {
    // The function beside has both; its own Link is put right like that of the path.
    const bench = good.copy();
    bench.set([neighbour.endpoint, 'MSI', 'Message Control', 'MSI Enable'], 1);
    bench.set([neighbour.endpoint, 'MSI-X', 'Message Control', 'MSI-X Enable'], 1);
    const ids = diagnosed(bench, neighbour.endpoint).findings.map((f) => f.id);
    expect(ids).toContain('interrupts-both');
  });

  test('the rules above, and those of gaps and buses, are all the rules there are', () => {
    const elsewhere = ['interrupts-both', 'link-one-end', 'parallel-bus', 'registers-missing'];
    const ids = new Set([...changes.map(([, , id]) => id), ...elsewhere]);
    expect([...ids].sort()).toEqual([...diagnosisFindingIds]);
  });
});

describe('order and blame', () => {
  test(
    'what lets nothing pass comes first, then by cost, then what has no price, then ' +
      'what is free',
    () => {
      const bench = good.copy();
      bench.set([endpoint, PCIE, 'Device Control', 'Extended Tag Field Enable'], 0);
      bench.set([endpoint, PCIE, 'Device Control', 'Enable Relaxed Ordering'], 0);
      bench.set(
        [endpoint, AER, 'Advanced Error Capabilities and Control', 'ECRC Generation Enable'],
        1,
      );
      bench.set([endpoint, 'header', 'Command', 'Bus Master Enable'], 0);
      train(bench, [downstream, endpoint], { speed: 1, width: 2 });
      const ids = diagnosed(bench).findings.map((f) => f.id);
      expect(ids).toEqual([
        'bus-master-off',
        'link-speed',
        'ecrc-on',
        'relaxed-ordering-off',
        'tags-extended',
      ]);
    },
  );

  test('where the way up binds, it bears the cost and the Link of the function none', () => {
    const bench = good.copy();
    train(bench, [root, upstream], { speed: 1, width: 1 });
    train(bench, [downstream, endpoint], { speed: 2, width: 2 });
    const { findings } = diagnosed(bench);
    const share = (subject: string) => findings.find((f) => f.subject === subject)?.share;
    expect(share('width of Link 00:02.0 to 01:00.0')).toBeGreaterThan(0.5);
    expect(share('speed of Link 02:01.0 to 04:00.0')).toBe(0);
  });

  test('a bridge to a parallel bus is told with what the bus can carry at most', async () => {
    const bench = await Bench.of('conventional');
    const { findings, notRated } = diagnosed(bench, '0000:01:02.0');
    const bus = findings.find((f) => f.id === 'parallel-bus');
    // 4 B x 33.33 MHz, the peak of conventional PCI.
    expect(bus!.message).toContain('133.3 MB/s');
    expect(notRated).toContain('parallel bus');
  });

  test('with the ports above left out, the Link says what one end could', () => {
    const bench = good.copy().without(root, upstream, downstream);
    train(bench, [endpoint], { speed: 1, width: 1 });
    const { findings, missing } = diagnosed(bench);
    expect(missing).toEqual(['upstream of 04:00.0 not in the dump']);
    expect(findings.map((f) => [f.id, f.level])).toEqual([['link-one-end', 'unknown']]);
  });
});

describe('registers that are not in the dump', () => {
  test.each([64, 256])(
    '%i bytes of the function: what could not be looked at is unknown',
    (bytes) => {
      const bench = good.copy().cut(endpoint, bytes);
      const { findings } = diagnosed(bench);
      expect(findings.map((f) => [f.id, f.level])).toContainEqual(['registers-missing', 'unknown']);
      expect(findings[0]!.functions).toEqual([endpoint]);
    },
  );
});

describe('whatever is in a dump', () => {
  test.each(captured)('%s: diagnosed the same twice, in 80 columns', async (name) => {
    const document = (await Bench.of(name)).document();
    const asked = diagnoseDump(document);
    expect(asked).toEqual(diagnoseDump(document));
    if (!asked.ok) throw new Error('no endpoint');
    const text = diagnosisText(asked.value);
    expect(Math.max(...text.split('\n').map((l) => l.length))).toBeLessThanOrEqual(80);
    for (const { findings } of asked.value.functions) {
      const ids: readonly string[] = diagnosisFindingIds;
      for (const f of findings) expect(ids).toContain(f.id);
    }
  });

  test('random bytes in the registers of a path never stop it', () => {
    const addresses = Object.values(path);
    const spot = fc.record({
      address: fc.constantFrom(...addresses),
      at: fc.oneof(fc.integer({ min: 4, max: 0xff }), fc.integer({ min: 0x100, max: 0x2ff })),
      byte: fc.integer({ min: 0, max: 255 }),
    });
    fc.assert(
      fc.property(fc.array(spot, { minLength: 1, maxLength: 12 }), (spots) => {
        const bench = good.copy();
        for (const { address, at, byte } of spots) bench.bytes(address)[at] = byte;
        const asked = diagnoseDump(bench.document(), endpoint);
        if (!asked.ok) return;
        for (const { findings } of asked.value.functions) {
          for (const f of findings) {
            expect(f.share).toBeGreaterThanOrEqual(0);
            expect(f.share).toBeLessThanOrEqual(1);
          }
        }
        diagnosisText(asked.value);
      }),
      { numRuns: 30 },
    );
  });
});

test('whole functions of random registers, whatever is asked of them', () => {
  const functions = allImages()
    .filter((_, i) => i % 5 === 0)
    .map(({ bytes }, i) => spaceOf(bytes, 256 * (i % 4) + i));
  const dump = documentOf(
    {
      format: 'listing',
      functions,
      filesIgnored: 0,
      findings: [],
      problems: [],
      problemsLeftOut: 0,
    },
    'made',
    [],
  );
  const sample = dump.functions.filter((_, i) => i % 9 === 0).map((fn) => fn.address!);
  let diagnosedOnes = 0;
  for (const address of sample) {
    const asked = diagnoseDump(dump, address);
    if (asked.ok) diagnosedOnes += 1;
    const made = caseOfDump(dump, address, { file: 'x.yaml', folder: './x-parts' });
    const below = notSeenBelow(dump, address);
    const against = compareDumps({ dump, function: address }, { dump, function: sample[0]! });
    for (const found of [asked, made, below, against]) {
      if (!found.ok) expect(found.problems[0]!.next).not.toBe('');
    }
  }
  expect(diagnosedOnes).toBe(sample.length);
});

test('docs/diagnose.md lists every finding id, in order', () => {
  const page = readFileSync(new URL('../../docs/diagnose.md', import.meta.url), 'utf8');
  const ids = [...page.matchAll(/^\| `([a-z][a-z-]+)` \|/gm)].map((m) => m[1]);
  expect(ids).toEqual([...diagnosisFindingIds, ...topologyFindingIds]);
});
