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
import { Bench, captured, healthy, neighbour, path, setLink, train } from './diagnose-rig.ts';

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

const control = (address: string, field: string, value: number) => (b: Bench) =>
  b.set([address, PCIE, 'Device Control', field], value);

/** The change, and the one finding it must bring, with its level. */
const changes: readonly (readonly [string, (b: Bench) => unknown, id: string, level: string])[] = [
  [
    'the upper Link at 8 GT/s',
    (b) => {
      train(b, [root, upstream], { speed: 3, width: 4 });
      for (const end of [root, upstream])
        b.trySet([end, PCIE, 'Link Control 2', 'Target Link Speed'], 4);
    },
    'link-speed',
    'ok',
  ],
  [
    'the lower Link at 2.5 GT/s',
    (b) => train(b, [downstream, endpoint], { speed: 1, width: 2 }),
    'link-speed',
    'caution',
  ],
  [
    'the lower Link x1',
    (b) => train(b, [downstream, endpoint], { speed: 3, width: 1 }),
    'link-width',
    'caution',
  ],
  [
    'Target Link Speed of 2.5 GT/s',
    (b) => {
      train(b, [downstream, endpoint], { speed: 1, width: 2 });
      b.set([downstream, PCIE, 'Link Control 2', 'Target Link Speed'], 1);
    },
    'link-target-speed',
    'caution',
  ],
  [
    'a Link slowed by hardware',
    (b) => {
      train(b, [downstream, endpoint], { speed: 1, width: 2 });
      b.set([downstream, PCIE, 'Link Status', 'Link Autonomous Bandwidth Status'], 1);
    },
    'link-idle',
    'unknown',
  ],
  [
    'two ends that disagree',
    (b) => {
      // More lanes than the other end has: the lesser, which is taken, is the best of both.
      b.set([downstream, PCIE, 'Link Status', 'Negotiated Link Width'], 4);
    },
    'link-ends-differ',
    'unknown',
  ],
  [
    '128 B everywhere',
    (b) => {
      for (const address of Object.values(path)) control(address, 'Max_Payload_Size', 0)(b);
    },
    'payload-small',
    'caution',
  ],
  [
    'a function that sends more than the switch takes',
    control(upstream, 'Max_Payload_Size', 0),
    'payload-differs',
    'stop',
  ],
  [
    'a function that takes less than the root sends',
    control(endpoint, 'Max_Payload_Size', 0),
    'payload-differs',
    'stop',
  ],
  ['requests of 128 B', control(endpoint, 'Max_Read_Request_Size', 0), 'request-small', 'caution'],
  ['8-bit tags off', control(endpoint, 'Extended Tag Field Enable', 0), 'tags-extended', 'ok'],
  [
    '10-bit tags off',
    (b) => {
      b.set([endpoint, PCIE, 'Device Capabilities 2', '10-Bit Tag Requester Supported'], 1);
      b.set([root, PCIE, 'Device Capabilities 2', '10-Bit Tag Completer Supported'], 1);
    },
    'tags-ten-bit',
    'ok',
  ],
  [
    'relaxed ordering off',
    control(endpoint, 'Enable Relaxed Ordering', 0),
    'relaxed-ordering-off',
    'caution',
  ],
  ['no snoop off', control(endpoint, 'Enable No Snoop', 0), 'no-snoop-off', 'caution'],
  [
    'a boundary other than the root states',
    (b) => b.set([root, PCIE, 'Link Control', 'Read Completion Boundary'], 1),
    'completion-boundary',
    'caution',
  ],
  [
    'end-to-end CRC from the function',
    (b) =>
      b.set(
        [endpoint, AER, 'Advanced Error Capabilities and Control', 'ECRC Generation Enable'],
        1,
      ),
    'ecrc-on',
    'caution',
  ],
  [
    'power saving on the lower Link',
    (b) => b.set([endpoint, PCIE, 'Link Control', 'Active State Power Management Control'], 3),
    'aspm-on',
    'caution',
  ],
  [
    'Extended Synch',
    (b) => b.set([downstream, PCIE, 'Link Control', 'Extended Synch'], 1),
    'extended-synch',
    'caution',
  ],
  [
    'a way up of 2.5 GT/s x4',
    (b) => setLink(b, [root, upstream], { speed: 1, width: 4 }),
    'upstream-shared',
    'caution',
  ],
  [
    'bus mastering off',
    (b) => b.set([endpoint, 'header', 'Command', 'Bus Master Enable'], 0),
    'bus-master-off',
    'stop',
  ],
  [
    'bus mastering off in the switch',
    (b) => b.set([upstream, 'header', 'Command', 'Bus Master Enable'], 0),
    'bus-master-off',
    'stop',
  ],
  [
    'memory space off',
    (b) => b.set([endpoint, 'header', 'Command', 'Memory Space Enable'], 0),
    'memory-space-off',
    'stop',
  ],
  [
    'D3hot',
    (b) =>
      b.set([endpoint, 'PCI Power Management', 'Power Management Control/Status', 'PowerState'], 3),
    'power-state',
    'stop',
  ],
  ...['Receiver Error', 'Bad TLP', 'Bad DLLP', 'REPLAY_NUM Rollover', 'Replay Timer Timeout'].map(
    (name) =>
      [
        name,
        (b: Bench) => b.set([root, AER, 'Correctable Error Status', `${name} Status`], 1),
        'errors-replay',
        'caution',
      ] as const,
  ),
  [
    'a corrected internal error',
    (b) => b.set([root, AER, 'Correctable Error Status', 'Corrected Internal Error Status'], 1),
    'errors-corrected',
    'caution',
  ],
  [
    'a completion timeout',
    (b) => b.set([endpoint, AER, 'Uncorrectable Error Status', 'Completion Timeout Status'], 1),
    'completion-timeout',
    'caution',
  ],
  [
    'a malformed packet',
    (b) => b.set([endpoint, AER, 'Uncorrectable Error Status', 'Malformed TLP Status'], 1),
    'errors-uncorrectable',
    'caution',
  ],
  [
    'a fatal error without detail',
    (b) => b.set([endpoint, PCIE, 'Device Status', 'Fatal Error Detected'], 1),
    'errors-device',
    'caution',
  ],
  [
    'an unsupported request',
    (b) => b.set([endpoint, PCIE, 'Device Status', 'Unsupported Request Detected'], 1),
    'errors-device',
    'ok',
  ],
  [
    'a target abort',
    (b) => b.set([endpoint, 'header', 'Status', 'Received Target Abort'], 1),
    'errors-header',
    'caution',
  ],
  [
    'no completion timeout',
    (b) => b.set([endpoint, PCIE, 'Device Control 2', 'Completion Timeout Disable'], 1),
    'timeout-setting',
    'caution',
  ],
  [
    'the shortest completion timeout',
    (b) => b.set([endpoint, PCIE, 'Device Control 2', 'Completion Timeout Value'], 1),
    'timeout-setting',
    'caution',
  ],
  [
    'all vectors masked',
    (b) => b.set([endpoint, 'MSI-X', 'Message Control', 'Function Mask'], 1),
    'interrupts-masked',
    'stop',
  ],
  [
    'no vectors, wires on',
    (b) => {
      b.set([endpoint, 'MSI-X', 'Message Control', 'MSI-X Enable'], 0);
      b.set([endpoint, 'header', 'Command', 'Interrupt Disable'], 0);
    },
    'interrupts-intx',
    'caution',
  ],
  [
    'no vectors, wires off',
    (b) => {
      b.set([endpoint, 'MSI-X', 'Message Control', 'MSI-X Enable'], 0);
      b.set([endpoint, 'header', 'Command', 'Interrupt Disable'], 1);
    },
    'interrupts-none',
    'unknown',
  ],
];

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
    const elsewhere = ['interrupts-both', 'link-one-end', 'parallel-bus'];
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
