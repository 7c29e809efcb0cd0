/**
 * One deterministic stream of writes: simulation against closed form over random links, flows and
 * pauses. Every exception is named in docs/simulator.md with its bound, and held to that bound here.
 */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { toNumber } from '../../src/quantity/index.ts';
import { simulateNetwork } from '../../src/system/simulate/index.ts';
import {
  anyFlow,
  anyLink,
  closedRate,
  expectEqual,
  flitPayload,
  grain,
  missing,
  setOf,
  windows,
} from './agreement.ts';

describe('posted writes of one engine', () => {
  it('pass in the number that the closed form says, in any window', () => {
    fc.assert(
      fc.property(anyLink, anyFlow('write'), fc.nat(20_000), (config, flow, perPacket) => {
        const { network, ...times } = windows(config, 300, { flow, pauses: { perPacket } });
        const result = simulateNetwork(network, { seed: 1, ...times });
        const packet = grain(config, flow);
        expectEqual(network, result, packet, flitPayload(config, packet));
      }),
      { numRuns: 1000 },
    );
  });

  it('have the same rate as a fraction once the whole state recurs', () => {
    let recurring = 0;
    const size = fc.constantFrom(64, 128, 512, 4096);
    fc.assert(
      fc.property(anyLink, size, fc.constantFrom(0, 50, 260, 4000), (config, bytes, perPacket) => {
        const flow = { transferBytes: bytes };
        const { network } = windows(config, 300, { flow, pauses: { perPacket } });
        const result = simulateNetwork(network, { seed: 1, skip: true });
        if (result.period) recurring++;
        const packet = grain(config, flow);
        expectEqual(network, result, packet, flitPayload(config, packet));
      }),
      { numRuns: 16 },
    );
    expect(recurring).toBeGreaterThan(0);
  });

  it('lose nothing to set-ups and chunks where every pause is as long as a set', () => {
    const pause = fc.nat(50_000);
    fc.assert(
      fc.property(anyLink, anyFlow('write'), pause, pause, pause, (config, flow, a, b, c) => {
        const perPacket = setOf(config).lost + a;
        const pauses = { perPacket, perChunk: b, perTransfer: c, powerExit: c >> 1 };
        const { network, ...times } = windows(config, 300, { flow, pauses });
        const result = simulateNetwork(network, { seed: 1, ...times });
        // A transfer with its set-up is one piece: how much of it a window holds depends on its ends.
        const packet = grain(config, flow);
        const whole = flow.transferBytes! + packet + flitPayload(config, packet);
        expect(Math.abs(missing(network, result))).toBeLessThanOrEqual(whole);
      }),
      { numRuns: 300 },
    );
  });

  it('differ by no more than clock compensation whatever the pauses and interrupts', () => {
    const pause = fc.constantFrom(0, 10, 300, 9999, 80_000);
    const each = fc.nat(2);
    fc.assert(
      fc.property(
        anyLink,
        anyFlow('write'),
        fc.tuple(pause, pause, pause),
        each,
        (config, shape, [perPacket, perChunk, perTransfer], transfersPerInterrupt) => {
          const flow = { ...shape, transfersPerInterrupt };
          const spec = { flow, pauses: { perPacket, perChunk, perTransfer } };
          const { network, ...times } = windows(config, 300, spec);
          const result = simulateNetwork(network, { seed: 1, ...times });
          const { interval, lost } = setOf(config);
          const all = result.streams[0]!.bytes + 1;
          const packet = grain(config, flow);
          const whole = flow.transferBytes! + packet + flitPayload(config, packet);
          // In flits what follows a set-up or an interrupt waits for a multiple of 16 bytes.
          const byte = toNumber(closedRate(network)) * toNumber(network.tick);
          const aligned =
            config.generation === 6 ? (2 * all * 2048 * byte) / flow.transferBytes! : 0;
          const most = (all * lost) / (interval - lost) + whole + aligned;
          expect(Math.abs(missing(network, result))).toBeLessThanOrEqual(most);
        },
      ),
      { numRuns: 300 },
    );
  });
});
