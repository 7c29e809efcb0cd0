/** Differences are explained where there are some, and only there. */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { HopLedger } from '../../src/model/answer.ts';
import { compare, toNumber } from '../../src/quantity/index.ts';
import { evaluate } from '../../src/system/evaluate.ts';
import { ledgersOf } from '../../src/system/ledgers.ts';
import type { Network } from '../../src/system/network.ts';
import { bytesPerSecond } from '../../src/system/rate.ts';
import { explainDifference, simulateNetwork } from '../../src/system/simulate/index.ts';
import { anyFlow, anyLink } from './agreement.ts';
import { link, networkOf, receiver } from './networks.ts';

function explained(network: Network, options: Parameters<typeof simulateNetwork>[1]) {
  const closed = evaluate(network, []);
  const result = simulateNetwork(network, options);
  return { closed, result, ...explainDifference(closed, result) };
}

/** Exact share of an account as a fraction over the other ledger's total, for comparison. */
function part(ledger: HopLedger, account: string, stream: string | undefined, by: HopLedger) {
  const rows = ledger.ledger.filter((row) => row.account === account && row.stream === stream);
  return rows.reduce((sum, { ticks }) => sum + BigInt(ticks), 0n) * BigInt(by.total);
}

describe('explanations', () => {
  it('are given for what differs and for nothing else', () => {
    const both = fc.boolean().chain((read) => anyFlow(read ? 'read' : 'write'));
    fc.assert(
      fc.property(anyLink, fc.array(both, { minLength: 1, maxLength: 2 }), (config, flows) => {
        const network = networkOf(
          [config],
          flows.map((flow) => ({ flow })),
        );
        const { interval } = network.hops[0]!.fabric.compensation(config);
        const times = { seed: 1, warmUp: interval, window: 10 * interval };
        const { closed, result, streams, links } = explained(network, times);
        bytesPerSecond(closed).forEach((rate, s) => {
          const equal = compare(rate, result.streams[s]!.rate) === 0;
          expect(streams[s]!.length > 0).toBe(!equal);
        });
        ledgersOf(closed).forEach((ledger, i) => {
          const other = result.links[i]!;
          for (const { account, stream, because } of links[i]!) {
            expect(because.every((sentence) => sentence.endsWith('.'))).toBe(true);
            expect(part(ledger, account, stream, other)).not.toBe(
              part(other, account, stream, ledger),
            );
          }
          for (const { account, stream } of [...ledger.ledger, ...other.ledger]) {
            const known = links[i]!.some((x) => x.account === account && x.stream === stream);
            const equal =
              part(ledger, account, stream, other) === part(other, account, stream, ledger);
            expect(known).toBe(!equal);
          }
        });
      }),
      { numRuns: 100 },
    );
  });

  it('say nothing of rates that are equal', () => {
    const { streams } = explained(networkOf([link()], [{}]), { seed: 1, skip: true });
    expect(streams).toEqual([[]]);
  });

  it('need say little of a write that goes on while the wire of its Acks is full', () => {
    const end = { ...receiver, packetsPerAck: 4, packetsPerUpdate: 4 };
    const network = networkOf(
      [link({ rootSide: end, moduleSide: end })],
      [
        { wanted: 1n },
        { flow: { kind: 'read' }, wanted: 9n, reads: { window: 64, latency: 9000 } },
      ],
    );
    const { closed, result, streams } = explained(network, { seed: 1 });
    const rates = bytesPerSecond(closed).map(toNumber);
    // Acks and credit updates go first on the wire that the reads fill, so the writes go on.
    rates.forEach((rate, s) => {
      expect(toNumber(result.streams[s]!.rate) / rate).toBeCloseTo(1, 1);
    });
    expect(streams).toHaveLength(2);
  });

  it('name the wait for a flit where a round trip counts, and only there', () => {
    const flow = { kind: 'read', requestBytes: 128 } as const;
    const reads = { window: 1, latency: 1000 };
    const said = (generation: 5 | 6) =>
      explained(
        networkOf(
          [link({ generation, skpInterval: generation === 6 ? 187 : 375 })],
          [{ flow, reads }],
        ),
        {
          seed: 1,
          window: 1e9,
        },
      ).streams[0]!.join(' ');
    expect(said(6)).toContain('with their flit');
    expect(said(5)).not.toContain('flit');
  });

  it('name a set-up that overlaps with the return of credits behind a queue', () => {
    // The queue before the second hop is full of what came before the set-up.
    const rootSide = { ...receiver, postedHeaders: 4, creditReturnTicks: 30_000 };
    const queue = { ...receiver, postedHeaders: 64, creditReturnTicks: 0 };
    const pauses = { perTransfer: 30_000 };
    const flow = { transferBytes: 1024 };
    const hops = [link({ rootSide: queue }), link({ rootSide })];
    const { streams } = explained(networkOf(hops, [{ flow, pauses }]), { seed: 1 });
    expect(streams[0]!.join(' ')).toContain('while the engine prepares');
  });
});
