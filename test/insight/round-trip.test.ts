/** What the model makes of a changed unknown is found back from the rates alone. */
import fc from 'fast-check';
import { expect, test } from 'vitest';
import { PointNetworks } from '../../src/insight/point-case.ts';
import { cornerWith, firstPassed } from '../../src/insight/reconcile/explain.ts';
import { rateAt } from '../../src/insight/reconcile/predict.ts';
import { unknownsOf } from '../../src/insight/reconcile/unknowns.ts';
import { readCase } from '../../src/system/read/index.ts';
import { reconcile, system } from './measured.ts';

const sizes = [64, 256, 1024, 4096, 65536] as const;

/** A table of what the model gives of the card with one unknown at a value. */
function tableWith(kind: 'read' | 'write', id: string, value: number): string {
  const { source, library } = system('server-nic', `${kind}.yaml`);
  const read = readCase(source, library);
  if (!read.ok) throw new Error('the case cannot be read');
  const networks = new PointNetworks(read.value);
  const direction = kind === 'write' ? 'to host' : 'from host';
  const lines = sizes.map((sizeBytes) => {
    const place = { file: 'e', line: 1, column: 1 };
    const at = networks.at({ streamIndex: 0, direction, sizeBytes, settings: {}, place })!;
    const unknown = unknownsOf(at.network).find((u) => u.id === id)!;
    const whole = Math.round(value / unknown.scale);
    return `${sizeBytes},${direction},${rateAt(at.network, cornerWith(at.network, unknown, whole)).toFixed(3)}`;
  });
  return `size (B),direction,rate (B/s)\n${lines.join('\n')}\n`;
}

const cases = [
  ['write', 'server-nic-endpoint.gap_per_packet', 8, 60],
  ['write', 'server-nic-endpoint.setup_per_transfer', 5, 3000],
  ['write', 'server-nic-endpoint writes.transfer_interval', 30, 500],
  ['read', 'server-nic-host.read_latency', 700, 4000],
] as const;

test.each(cases)('%ss: %s, set between %i and %i ns', async (kind, id, low, high) => {
  await fc.assert(
    fc.asyncProperty(fc.integer({ min: low, max: high }), async (ns) => {
      const table = tableWith(kind, id, ns * 1e-9);
      const found = await reconcile(system('server-nic', `${kind}.yaml`), table);
      const [t] = found.together;
      const tied = t!.unknowns.slice(0, t!.tied);
      const own = tied.find((u) => u.id === id);
      expect(own, tied.map((u) => u.id).join()).toBeDefined();
      expect(own!.residual).toBeLessThan(2e-3);
      expect(Math.abs(own!.value * 1e9 - ns)).toBeLessThan(Math.max(0.3, ns * 0.01));
    }),
    { numRuns: 4 },
  );
});

test('requests in flight, from 2 to 12', async () => {
  for (const count of [2, 5, 12]) {
    const table = tableWith('read', 'server-nic-endpoint.outstanding_requests', count);
    const found = await reconcile(system('server-nic', 'read.yaml'), table);
    const [t] = found.together;
    const own = t!.unknowns.slice(0, t!.tied).find((u) => u.id.endsWith('outstanding_requests'));
    expect(own!.value).toBe(count);
  }
});

test('between two counts the nearer explains a point, not the first beyond it', async () => {
  const id = 'server-nic-endpoint.outstanding_requests';
  const [head, first] = tableWith('read', id, 12).split('\n');
  const [size, direction, rate] = first!.split(',');
  const slower = `${head}\n${size},${direction},${(Number(rate) * 0.995).toFixed(3)}\n`;
  const found = await reconcile(system('server-nic', 'read.yaml'), slower);
  expect(found.points[0]!.explainedBy.find((e) => e.id === id)!.value).toBe(12);
});

test('halving finds the first value that passes, either way, and nothing where the end does not', () => {
  fc.assert(
    fc.property(
      fc.integer({ min: -1e6, max: 1e6 }),
      fc.integer({ min: 1, max: 1e9 }),
      fc.integer({ min: 1, max: 1e9 }),
      fc.boolean(),
      (from, reach, step, up) => {
        const sign = up ? 1 : -1;
        const edge = from + sign * step;
        const passed = (v: number) => sign * v >= sign * edge;
        const found = firstPassed(from, from + sign * reach, passed);
        expect(found).toBe(step <= reach ? edge : undefined);
      },
    ),
  );
  expect(firstPassed(3, 3, () => true)).toBeUndefined();
});
