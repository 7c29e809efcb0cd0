/** Every pin where two boards meet, with what each does and what the rules say of it. */
import type { PinEntry, PinRemark, PinSheet, PinSide } from '../../model/pins.ts';
import type { Case } from '../../system/case.ts';
import { connectorIds } from '../../system/parts.ts';
import type { PinUse } from '../../system/pins.ts';
import { rearPairsOf } from '../rear/pairs.ts';
import { signalsOf } from '../rear/signals.ts';
import { fitContext, isSeated, type SeatedContext } from '../rule.ts';
import { driveOf } from './drive.ts';
import type { Judged } from './gather.ts';
import { groundOf } from './ground.ts';
import { levelOf } from './level.ts';
import { isRear, meetings, type PinMeeting } from './meet.ts';
import { pairsOf } from './pair.ts';
import { powerOf } from './power.ts';
import { standardOf } from './standard.ts';

/** A pin's use as documents have it. */
export function sideOf({ use, signal, direction, level, mate }: PinUse): PinSide {
  return {
    use: use.value,
    ...(signal !== undefined && { signal }),
    ...(direction && { direction: direction.value }),
    ...(level && { level: level.value }),
    ...(mate !== undefined && { mate }),
  };
}

function judgedBy(c: SeatedContext, all: readonly PinMeeting[]) {
  const [first] = all;
  const rear = first !== undefined && isRear(first.connector) ? first.connector : undefined;
  return [
    ['pin-standard', standardOf(all)],
    ['pin-drive', driveOf(all)],
    ['pin-level', levelOf(all)],
    ['pin-power', powerOf(all)],
    ['pin-ground', groundOf(all)],
    ['pin-pair', pairsOf(all)],
    ['rear-signals', rear ? signalsOf(c, rear, all) : []],
    ['rear-pairs', rear ? rearPairsOf(c, rear, all) : []],
  ] as const satisfies readonly (readonly [string, readonly Judged[]])[];
}

/** A pair is judged at its p pin, and the remark is of both halves. */
function pinsOf({ meeting, verdict }: Judged, rule: string): readonly string[] {
  const { pin, module } = meeting;
  const pair = rule.endsWith('-pair') || rule.endsWith('-pairs');
  return verdict.level !== 'ok' && pair && module?.mate ? [pin, module.mate] : [pin];
}

function sheetOf(c: SeatedContext, all: readonly PinMeeting[]): readonly PinEntry[] {
  const remarks = new Map<string, PinRemark[]>();
  for (const [rule, judged] of judgedBy(c, all)) {
    for (const one of judged) {
      const { level, why } = one.verdict;
      if (level === 'ok') continue;
      for (const pin of pinsOf(one, rule))
        remarks.set(pin, [...(remarks.get(pin) ?? []), { rule, level, why }]);
    }
  }
  return all.map(({ pin, row, module, carrier }) => ({
    pin,
    standard: row.signal,
    group: row.group,
    ...(module && { module: sideOf(module) }),
    ...(carrier && { carrier: sideOf(carrier) }),
    remarks: remarks.get(pin) ?? [],
  }));
}

/** A sheet a connector that both boards have, where the module lists its pins. */
export function pinSheets(given: Case): readonly PinSheet[] {
  const context = fitContext(given);
  if (!isSeated(context)) return [];
  return connectorIds.flatMap((connector) => {
    if (context.module.connectors[connector]?.pins === undefined) return [];
    const all = meetings(context, connector);
    return all.length === 0 ? [] : [{ connector, pins: sheetOf(context, all) }];
  });
}
