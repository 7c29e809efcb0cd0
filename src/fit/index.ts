/** Does the module fit its carrier, slot and supplies: one rule a file, listed here in order. */
import type { Finding } from '../model/finding.ts';
import type { Case } from '../system/case.ts';
import { busLoadsRule } from './bus-loads.ts';
import { calibrationPlaceRule } from './calibration-place.ts';
import { carrierRule } from './carrier.ts';
import { channelLossRule } from './channel-loss.ts';
import { componentHeightRule } from './component-height.ts';
import { connectorFamilyRule } from './connector-family.ts';
import { connectorPresentRule } from './connector-present.ts';
import { environmentRule } from './environment.ts';
import { environmentClassRule } from './environment-class.ts';
import { frontIoRule } from './front-io.ts';
import { heatRule } from './heat.ts';
import { inrushRule } from './inrush.ts';
import { ioZoneRule } from './io-zone.ts';
import { lanesRule } from './lanes.ts';
import { lengthRule } from './length.ts';
import { lineRateRule } from './line-rate.ts';
import { moduleCoolingRule } from './module-cooling.ts';
import { outlineRule } from './outline.ts';
import { payloadSettingRule } from './payload-setting.ts';
import { addressRule } from './pins/address.ts';
import { pinClaimRule } from './pins/claim.ts';
import { pinDriveRule } from './pins/drive.ts';
import { pinGroundRule } from './pins/ground.ts';
import { lanePositionRule } from './pins/lane-position.ts';
import { pinLevelRule } from './pins/level.ts';
import { pinPairRule } from './pins/pair.ts';
import { pinPowerRule } from './pins/power.ts';
import { presenceRule } from './pins/presence.ts';
import { pinStandardRule } from './pins/standard.ts';
import { protocolRule } from './protocol.ts';
import { railOrderRule } from './rail-order.ts';
import { rearPairsRule } from './rear/pairs.ts';
import { rearPlaceRule } from './rear/place.ts';
import { rearSignalsRule } from './rear/signals.ts';
import { rearIoRule } from './rear-io.ts';
import { rolesRule } from './roles.ts';
import { type FitRule, fitContext } from './rule.ts';
import { signallingRule } from './signalling.ts';
import { referenceClockRule } from './signals/clock.ts';
import { laneRoutingRule } from './signals/lanes.ts';
import { sidebandRule } from './signals/sideband.ts';
import { slotCoolingRule } from './slot-cooling.ts';
import { slotPitchRule } from './slot-pitch.ts';
import { slotPowerRule } from './slot-power.ts';
import { stackingHeightRule } from './stacking-height.ts';
import { startUpRule } from './start-up.ts';
import { supplyCurrentRule } from './supply-current.ts';
import { supplyDipRule } from './supply-dip.ts';
import { totalPowerRule } from './total-power.ts';
import { vpwrVoltageRule } from './vpwr-voltage.ts';

export { fitCautions } from '../standards/cautions.ts';
export { calibrationPlaceRule } from './calibration-place.ts';
export { pinSheets } from './pins/sheet.ts';
export { rearTables } from './rear/table.ts';
export { replacementOf } from './replace/index.ts';
export { type FitContext, type FitRule, fitContext } from './rule.ts';

/** Every rule, in the order its findings are reported. */
export const fitRules: readonly FitRule[] = [
  carrierRule,
  outlineRule,
  lengthRule,
  connectorPresentRule,
  connectorFamilyRule,
  protocolRule,
  lanesRule,
  laneRoutingRule,
  lineRateRule,
  channelLossRule,
  referenceClockRule,
  rolesRule,
  payloadSettingRule,
  stackingHeightRule,
  componentHeightRule,
  ioZoneRule,
  slotPitchRule,
  frontIoRule,
  moduleCoolingRule,
  slotCoolingRule,
  heatRule,
  environmentRule,
  environmentClassRule,
  vpwrVoltageRule,
  signallingRule,
  supplyCurrentRule,
  inrushRule,
  railOrderRule,
  totalPowerRule,
  slotPowerRule,
  supplyDipRule,
  startUpRule,
  busLoadsRule,
  rearIoRule,
  pinStandardRule,
  pinDriveRule,
  pinLevelRule,
  pinPowerRule,
  pinGroundRule,
  pinPairRule,
  lanePositionRule,
  pinClaimRule,
  presenceRule,
  addressRule,
  rearPlaceRule,
  rearSignalsRule,
  rearPairsRule,
  sidebandRule,
  calibrationPlaceRule,
];

/**
 * Checks a case against every rule.
 *
 * @returns findings in rule order, within a rule by connector P11 to P16 or by rail; the same case
 * always gives the same list.
 */
export function checkFit(given: Case): readonly Finding[] {
  const context = fitContext(given);
  const findings: Finding[] = [];
  for (const rule of fitRules) findings.push(...rule.check(context));
  return findings;
}
