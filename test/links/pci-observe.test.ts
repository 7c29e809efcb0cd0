/** The observer against waveforms drawn from figures of the specification and from its rules. */
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { BusObserver } from '../../src/links/pci/observe.ts';
import type { BusTransfer } from '../../src/links/pci/observe-transfer.ts';
import { busSample } from '../../src/links/pci/sample.ts';
import { ledgerSum } from '../../src/model/ledger.ts';
import { observe } from './pci-observe-waves.ts';

describe('conventional PCI', () => {
  test('PCI Local Bus Specification 3.0, figure 3-5, basic read (from memory)', () => {
    // Clock 1 of the figure is the first here: address on 2, data on 4, 6 and 8, a wait of the target
    // on 5 and of the master on 7.
    const { transfers, phases } = observe({
      frame: '-######--',
      irdy: '--####-#-',
      trdy: '---#-###-',
      devsel: '---#####-',
      cbe: '-60000000',
    });
    expect(transfers).toHaveLength(1);
    expect(transfers[0]).toMatchObject({
      start: 1,
      end: 7,
      command: 6,
      decode: 2,
      firstData: 2,
      dataPhases: 3,
      bytes: 12,
      targetWaits: 1,
      masterWaits: 1,
      bothWait: 0,
      ending: 'completion',
    });
    expect(phases).toEqual({
      idle: 1,
      address: 1,
      read_turnaround: 1,
      data: 3,
      wait: 2,
      turnaround: 1,
    });
  });

  test('figure 3-6, basic write (from memory)', () => {
    // Data on 3, 4 and 8; on 5 both wait, on 6 and 7 the target alone.
    const { transfers, phases } = observe({
      frame: '-#####---',
      irdy: '--##-###-',
      trdy: '--##---#-',
      devsel: '--######-',
      cbe: '-70000000',
    });
    expect(transfers[0]).toMatchObject({
      decode: 1,
      dataPhases: 3,
      bytes: 12,
      bothWait: 1,
      targetWaits: 2,
      ending: 'completion',
    });
    expect(phases).toEqual({ idle: 1, address: 1, data: 3, wait: 3, turnaround: 1 });
  });

  test('a medium write of four data phases takes seven clocks with its turnaround', () => {
    // Source: E. Abbott, PCI Bus Demystified, 2nd edition, chapter 12.
    const { transfers, phases, observer } = observe({
      frame: '#####--',
      irdy: '-#####-',
      trdy: '--####-',
      devsel: '--####-',
      cbe: '7000000',
    });
    // The recording begins with the address phase, which then is none: play it behind an idle clock.
    expect(transfers[0]!.begunBefore).toBe(true);
    expect(phases.address).toBeUndefined();
    expect(observer.clocks).toBe(7);
    const whole = observe({
      frame: '-####---',
      irdy: '--#####-',
      trdy: '---####-',
      devsel: '---####-',
      cbe: '-7000000',
    });
    expect(whole.transfers[0]).toMatchObject({ dataPhases: 4, decode: 2, begunBefore: false });
    expect(whole.phases).toEqual({ idle: 1, address: 1, response: 1, data: 4, turnaround: 1 });
  });

  test.each([
    [1, 'fast'],
    [2, 'medium'],
    [3, 'slow'],
    [4, 'subtractive'],
  ])('clocks of N data phases: decode %d (%s)', (decode) => {
    // Minimum clocks, one idle included: write N+2, N+3, N+4; read N+3, N+3, N+4 (worked from the
    // rules of LOCAL 3.3 and 3.6.1; the medium write is the published 7 of 4).
    for (const n of [1, 4, 9]) {
      for (const read of [false, true]) {
        const before = Math.max(read ? 2 : 1, decode);
        const { phases, transfers } = observe({
          frame: `-${'#'.repeat(before + n - 1)}--`,
          irdy: `--${'#'.repeat(before + n - 1)}-`,
          trdy: `-${'-'.repeat(before)}${'#'.repeat(n)}-`,
          devsel: `-${'-'.repeat(decode)}${'#'.repeat(before + n - decode)}-`,
          cbe: `-${read ? 6 : 7}${'0'.repeat(before + n)}`,
        });
        const clocks = Object.values(phases).reduce((a, b) => a + b) - phases.idle!;
        expect(clocks).toBe(n + before + 1);
        expect(transfers[0]).toMatchObject({ decode, dataPhases: n, bytes: 4 * n });
        expect(phases.data).toBe(n);
        expect(phases.read_turnaround ?? 0).toBe(read ? 1 : 0);
      }
    }
  });

  test('Retry: no data, and every clock of it is charged to that', () => {
    const { transfers, phases } = observe({
      frame: '-###----',
      irdy: '--###---',
      stop: '---##---',
      devsel: '---##---',
      cbe: '-6000000',
    });
    expect(transfers[0]).toMatchObject({
      ending: 'Retry',
      dataPhases: 0,
      bytes: 0,
      start: 1,
      end: 4,
    });
    expect(phases).toEqual({ idle: 3, retried: 4, turnaround: 1 });
  });

  test('Disconnect with data, and without: clocks behind it are charged to it', () => {
    // With data: STOP# beside TRDY# in the second data phase; FRAME# goes one clock later.
    const withData = observe({
      frame: '-###----',
      irdy: '--###---',
      trdy: '--##----',
      stop: '---##---',
      devsel: '--###---',
      cbe: '-7000000',
    });
    expect(withData.transfers[0]).toMatchObject({ ending: 'Disconnect with data', dataPhases: 2 });
    expect(withData.phases).toEqual({ idle: 3, address: 1, data: 2, stop: 1, turnaround: 1 });
    const without = observe({
      frame: '-###----',
      irdy: '--###---',
      trdy: '--#-----',
      stop: '---##---',
      devsel: '--###---',
      cbe: '-7000000',
    });
    expect(without.transfers[0]).toMatchObject({
      ending: 'Disconnect without data',
      dataPhases: 1,
    });
    expect(without.phases).toEqual({ idle: 3, address: 1, data: 1, stop: 2, turnaround: 1 });
  });

  test('Target-Abort: STOP# with DEVSEL# gone', () => {
    const { transfers, phases } = observe({
      frame: '-####---',
      irdy: '--####--',
      trdy: '---#----',
      stop: '----##--',
      devsel: '---#----',
      cbe: '-7000000',
    });
    expect(transfers[0]).toMatchObject({ ending: 'Target-Abort', dataPhases: 1 });
    expect(phases).toMatchObject({ data: 1, stop: 2 });
  });

  test('Master-Abort: nobody answers; FRAME# goes at the fifth clock behind the address', () => {
    const { transfers, phases } = observe({
      frame: '-#####----',
      irdy: '--#####---',
      cbe: '-700000000',
    });
    expect(transfers[0]).toMatchObject({ ending: 'Master-Abort', decode: 0, dataPhases: 0 });
    expect(phases).toEqual({ idle: 3, retried: 6, turnaround: 1 });
  });

  test('a dual address cycle: two address phases, the command of the second', () => {
    const { transfers, phases } = observe({
      frame: '-###---',
      irdy: '---##--',
      trdy: '---##--',
      devsel: '---##--',
      cbe: '-D70000',
      ad: '- 89abcde0 7 1 2 - -',
    });
    expect(transfers[0]).toMatchObject({
      dual: true,
      command: 7,
      addressLow: 0x89abcde0,
      addressHigh: 7,
      decode: 1,
      dataPhases: 2,
    });
    expect(phases).toMatchObject({ address: 1, dual_address: 1, data: 2 });
  });

  test('fast back-to-back: no clock between, and both are told apart', () => {
    const { transfers, phases } = observe({
      frame: '-#-#---',
      irdy: '--#-#--',
      trdy: '--#-#--',
      devsel: '--#-#--',
      cbe: '-707000',
    });
    expect(transfers.map((t) => [t.start, t.end, t.gap])).toEqual([
      [1, 2, 1],
      [3, 4, 0],
    ]);
    expect(phases).toEqual({ idle: 2, address: 2, data: 2, turnaround: 1 });
  });

  test('byte enables and 64 bits: bytes are those whose enables are asserted', () => {
    const { transfers } = observe(
      {
        frame: '-##---',
        req64: '-##---',
        irdy: '--##--',
        trdy: '--##--',
        devsel: '--##--',
        ack64: '--##--',
        cbe: '-7F000',
        cbeHigh: '-F0E00',
      },
      { widthBits: 64 },
    );
    expect(transfers[0]).toMatchObject({ wide: true, dataPhases: 2, bytes: 4 + 5 });
  });

  test('the master is the one GNT# of the clock before; two at once are none, and told', () => {
    const wave = { frame: '-#--', irdy: '--#-', trdy: '--#-', devsel: '--#-', cbe: '-700' };
    expect(observe({ ...wave, gnt: '4000' }).transfers[0]!.master).toBe(2);
    const two = observe({ ...wave, gnt: '6000' });
    expect(two.transfers[0]!.master).toBe(-1);
    expect(two.observer.tally.occurrences.grants).toEqual({ count: 1, first: 0 });
  });

  test('REQ# on an idle bus is arbitration, but for the turnaround', () => {
    const { phases, transfers } = observe({
      frame: '----#----#-',
      irdy: '-----#----#',
      trdy: '-----#----#',
      devsel: '-----#----#',
      cbe: '----70---70',
      req: '00110011110',
    });
    expect(phases).toEqual({ idle: 2, arbitration: 4, address: 2, data: 2, turnaround: 1 });
    expect(transfers.map((t) => t.arbitration)).toEqual([2, 2]);
  });

  test('bounds on latency are counted where they are broken, with the first clock', () => {
    const late = observe({
      frame: `-${'#'.repeat(20)}---`,
      irdy: `--${'#'.repeat(20)}--`,
      trdy: `-${'-'.repeat(20)}#--`,
      devsel: `--${'#'.repeat(20)}--`,
      cbe: `-6${'0'.repeat(22)}`,
    });
    expect(late.observer.tally.occurrences.initial).toEqual({ count: 1, first: 18 });
    const slow = observe({
      frame: `-${'#'.repeat(20)}---`,
      irdy: `--#${'-'.repeat(9)}##########--`,
      trdy: `--${'#'.repeat(11)}${'-'.repeat(9)}#--`,
      devsel: `--${'#'.repeat(20)}--`,
      cbe: `-7${'0'.repeat(22)}`,
    });
    expect(slow.observer.tally.occurrences.master).toEqual({ count: 1, first: 11 });
    expect(slow.observer.tally.occurrences.subsequent).toEqual({ count: 1, first: 21 });
  });

  test('a transaction under way when the recording begins or ends is kept and said so', () => {
    const { transfers, phases } = observe({
      frame: '##--###',
      irdy: '###--##',
      trdy: '###---#',
      devsel: '###---#',
      cbe: '0000600',
    });
    expect(transfers[0]).toMatchObject({
      begunBefore: true,
      command: -1,
      dataPhases: 3,
      bytes: 12,
    });
    expect(transfers[1]).toMatchObject({ ending: 'end of the recording', dataPhases: 1, end: 6 });
    expect(phases).toEqual({
      data: 4,
      turnaround: 1,
      address: 1,
      read_turnaround: 1,
    });
  });

  test('RST# ends everything and is idle', () => {
    const { transfers, phases } = observe({
      frame: '-####--',
      irdy: '--###--',
      reset: '---####',
      cbe: '-700000',
    });
    expect(transfers.map((t) => [t.ending, t.end])).toEqual([['reset', 2]]);
    expect(phases).toEqual({ idle: 5, retried: 2 });
  });
});

describe('PCI-X (terminations and timing from memory of the addendum)', () => {
  const pcix = { mode: 'pcix', widthBits: 64 } as const;
  // Attribute of a burst: AD[7:0] holds the lower byte count, C/BE# its upper four bits.
  test('a write at decode A of N data phases takes N + 4 clocks', () => {
    for (const n of [4, 8, 16]) {
      const { transfers, phases } = observe(
        {
          frame: `-${'#'.repeat(n + 2)}---`,
          req64: `-${'#'.repeat(n + 2)}---`,
          irdy: `----${'#'.repeat(n)}--`,
          trdy: `----${'#'.repeat(n)}--`,
          devsel: `---${'#'.repeat(n + 1)}--`,
          ack64: `---${'#'.repeat(n + 1)}--`,
          cbe: `-F0${'0'.repeat(n + 3)}`,
          ad: `- 1000 ${(8 * n).toString(16)} ${'0 '.repeat(n + 3)}`,
        },
        pcix,
      );
      expect(transfers[0]).toMatchObject({ decode: 2, dataPhases: n, bytes: 8 * n });
      expect(transfers[0]!.ending).toBe('completion');
      expect(phases).toEqual({
        idle: 2,
        address: 1,
        attribute: 1,
        response: 1,
        data: n,
        turnaround: 1,
      });
    }
  });

  test('bytes of a burst follow from its address and its count', () => {
    const { transfers } = observe(
      {
        frame: '-####---',
        irdy: '----##--',
        trdy: '----##--',
        devsel: '---###--',
        ack64: '---###--',
        cbe: '-F0FFFFF',
        ad: '- 1005 9 - - - - -',
      },
      pcix,
    );
    expect(transfers[0]).toMatchObject({ dataPhases: 2, bytes: 9, assumedPhases: 0 });
  });

  test('Split Response: TRDY# without DEVSEL# and STOP#; the transaction is a request', () => {
    const { transfers, phases } = observe(
      {
        frame: '-####---',
        irdy: '----##--',
        trdy: '----#---',
        devsel: '---#----',
        cbe: '-E200000',
        ad: '- 1000 0 - - - - -',
      },
      pcix,
    );
    expect(transfers[0]).toMatchObject({ ending: 'Split Response', dataPhases: 0 });
    expect(phases).toEqual({ idle: 2, split_request: 5, turnaround: 1 });
  });

  test('Retry, Target-Abort, single data phase disconnect, both disconnects at a boundary', () => {
    const base = { frame: '-####---', irdy: '----##--', cbe: '-F1FFFFF', ad: '- 0 0 - - - - -' };
    const end = (rest: { trdy?: string; devsel: string; stop?: string }) =>
      observe({ ...base, ...rest }, { mode: 'pcix' }).transfers[0]!;
    expect(end({ devsel: '---##---', stop: '----#---' }).ending).toBe('Retry');
    expect(end({ devsel: '---#----', stop: '----#---' }).ending).toBe('Target-Abort');
    const single = end({ devsel: '---#----', stop: '----#---', trdy: '----#---' });
    expect(single).toMatchObject({
      ending: 'single data phase disconnect',
      dataPhases: 1,
      bytes: 4,
    });
    const target = end({ devsel: '---###--', stop: '----##--', trdy: '----##--' });
    expect(target.ending).toBe('disconnect at a boundary by the target');
    const initiator = end({ devsel: '---###--', trdy: '----##--' });
    expect(initiator.ending).toBe('disconnect at a boundary by the initiator');
  });

  test('GNT# of two clocks before names the master', () => {
    const { transfers } = observe(
      {
        frame: '--###---',
        irdy: '-----#--',
        trdy: '-----#--',
        devsel: '----##--',
        cbe: '--60FFFF',
        ad: '- - 1000 0 - - - -',
        gnt: '21000000',
      },
      pcix,
    );
    // A double word of which the attribute phase enables all bytes.
    expect(transfers[0]).toMatchObject({ master: 1, command: 6, bytes: 4, assumedPhases: 0 });
  });
});

describe('any recording', () => {
  const bool = fc.boolean();
  const clock = fc.record({
    frame: bool,
    irdy: bool,
    trdy: bool,
    devsel: bool,
    stop: bool,
    ack64: bool,
    reset: fc.constantFrom(false, false, false, false, false, false, false, true),
    req: fc.nat(3),
    gnt: fc.nat(3),
    cbe: fc.nat(255),
    cbeKnown: bool,
    adLow: fc.nat(0xffff),
    adLowKnown: bool,
  });

  test('the ledger sums to all clocks, and transfers do not overlap', () => {
    fc.assert(
      fc.property(
        fc.array(clock, { minLength: 1, maxLength: 80 }),
        fc.constantFrom('pci' as const, 'pcix' as const),
        (clocks, mode) => {
          const transfers: BusTransfer[] = [];
          const observer = new BusObserver(
            { mode, widthBits: 64 },
            { transfer: (t) => transfers.push({ ...t }) },
          );
          const sample = busSample();
          for (const [i, own] of clocks.entries()) {
            observer.clock(Object.assign(sample, own, { clock: i }));
            expect(ledgerSum(observer.ledger())).toBe(BigInt(i + 1));
          }
          observer.cut(clocks.length - 1);
          expect(ledgerSum(observer.ledger())).toBe(BigInt(clocks.length));
          let end = -1;
          for (const t of transfers) {
            expect(t.start).toBeGreaterThan(end);
            expect(t.end).toBeGreaterThanOrEqual(t.start);
            end = t.end;
          }
          const rows = observer.ledger();
          const phases = transfers.reduce((sum, t) => sum + t.dataPhases, 0);
          expect(rows.find((r) => r.account === 'payload')?.ticks ?? 0).toBe(phases);
        },
      ),
      { numRuns: 300 },
    );
  });
});
