import type { Finding } from '../../model/finding.ts';
import { linkSignalRows } from '../../standards/link-signals.ts';
import { type FitRule, type SeatedContext, seated, siteText } from '../rule.ts';
import { against } from '../span.ts';
import { signalFinding } from './draft.ts';

function reset(c: SeatedContext): readonly Finding[] {
  const [need, given] = [c.module.signals?.reset_pulse, c.site.signals?.reset_pulse];
  return signalFinding({
    id: 'reset-pulse',
    subject: `reset of ${c.module.id}`,
    row: linkSignalRows.reset,
    sides: [
      { name: `reset that ${c.module.id} is sure to see`, value: need },
      { name: `shortest reset at ${siteText(c)}`, value: given },
    ],
    judge: () => {
      const standing = against(need!.value, given!.value);
      return {
        level: standing === 'within' ? 'ok' : standing === 'beyond' ? 'stop' : 'unknown',
        message: `needs ${need!.value.text}, gets ${given!.value.text}`,
        next: standing === 'within' ? '' : 'Lengthen the reset of the carrier, or measure it.',
      };
    },
  });
}

function selfTest(c: SeatedContext): readonly Finding[] {
  const [takes, limit] = [c.module.signals?.self_test, c.site.signals?.self_test_limit];
  return signalFinding({
    id: 'self-test',
    subject: `self-test of ${c.module.id}`,
    row: linkSignalRows.selfTest,
    sides: [
      { name: `longest self-test of ${c.module.id}`, value: takes },
      { name: `time that ${siteText(c)} waits`, value: limit },
    ],
    judge: () => {
      const standing = against(takes!.value, limit!.value);
      return {
        level: standing === 'within' ? 'ok' : standing === 'beyond' ? 'stop' : 'unknown',
        message: `takes ${takes!.value.text}, the carrier waits ${limit!.value.text}`,
        next: standing === 'within' ? '' : 'Shorten the self-test, or raise the limit.',
      };
    },
  });
}

function writeProtect(c: SeatedContext): readonly Finding[] {
  const [writes, level] = [c.module.signals?.writes_in_service, c.site.signals?.write_protect];
  if (writes?.value === false) return [];
  return signalFinding({
    id: 'write-protect',
    subject: `write protection of ${c.module.id}`,
    row: linkSignalRows.protection,
    sides:
      writes === undefined
        ? []
        : [
            { name: `${c.module.id} writes in service`, value: writes },
            { name: `MVMRO at ${siteText(c)}`, value: level },
          ],
    judge: () =>
      level!.value === 'off'
        ? { level: 'ok', message: 'MVMRO is low in service', next: '' }
        : level!.value === 'on'
          ? {
              level: 'stop',
              message: 'the module writes its memory in service, and MVMRO is held high',
              next: 'Strap MVMRO low, or choose a build that writes nothing in service.',
            }
          : {
              level: 'caution',
              message: 'MVMRO follows the backplane, and the module writes in service',
              next: 'State the level that the chassis gives in service, and while programming.',
            },
  });
}

function scan(c: SeatedContext): readonly Finding[] {
  const [takes, chain] = [c.module.signals?.boundary_scan, c.site.signals?.scan_chain];
  const broken = chain?.value === 'broken when empty';
  const unwired = takes?.value === true && chain?.value === 'not wired';
  if (chain === undefined) return [];
  return signalFinding({
    id: 'boundary-scan',
    subject: `boundary scan past ${siteText(c)}`,
    row: linkSignalRows.scan,
    sides: [
      { name: 'chain at the site', value: chain },
      ...(takes === undefined ? [] : [{ name: `${c.module.id} in the chain`, value: takes }]),
    ],
    judge: () => ({
      level: broken || unwired ? 'caution' : 'ok',
      message: broken
        ? 'the chain breaks at an empty site'
        : unwired
          ? 'the module expects a chain, and the site wires none'
          : `the chain is ${chain.value}`,
      next: broken || unwired ? 'Plan the test of the boards apart, or bridge TDI to TDO.' : '',
    }),
  });
}

function management(c: SeatedContext): readonly Finding[] {
  const own = c.module.signals?.management_address;
  const others = c.site.signals?.management_addresses ?? [];
  if (own === undefined || others.length === 0) return [];
  const taken = others.find((other) => other.value === own.value);
  return signalFinding({
    id: 'management-address',
    subject: `management address of ${c.module.id}`,
    row: linkSignalRows.management,
    sides: [
      { name: `address of ${c.module.id}`, value: own },
      { name: `other address at ${siteText(c)}`, value: taken ?? others[0] },
    ],
    judge: () =>
      taken
        ? {
            level: 'stop',
            message: `address ${own.value} is taken on the same bus`,
            next: 'Change the address straps, and scan the bus with both boards in place.',
          }
        : {
            level: 'ok',
            message: `address ${own.value} is free; straps may be read in either order`,
            next: 'Scan the bus once to confirm the order of GA0 to GA2.',
          },
  });
}

/** Reset, self-test, write protection, boundary scan and management of the site. */
export const sidebandRule: FitRule = {
  id: 'sideband',
  title: 'Signals beside the link',
  clause: linkSignalRows.reset.clause,
  check: seated((c) => [
    ...reset(c),
    ...selfTest(c),
    ...writeProtect(c),
    ...scan(c),
    ...management(c),
  ]),
};
