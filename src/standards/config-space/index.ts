/** The register tables: headers by layout, capabilities and extended capabilities by ID. */
import { advancedErrorReporting } from './extended/aer.ts';
import { l1PmSubstates, latencyToleranceReporting } from './extended/latency.ts';
import { dataLinkFeature, device3, precisionTimeMeasurement } from './extended/link-features.ts';
import {
  laneMargining,
  physicalLayer16,
  physicalLayer32,
  physicalLayer64,
  secondaryPciExpress,
} from './extended/physical-layer.ts';
import {
  dynamicPowerAllocation,
  powerBudgeting,
  processingHints,
  resizableBar,
  vfResizableBar,
} from './extended/resources.ts';
import {
  accessControlServices,
  alternativeRoutingId,
  downstreamPortContainment,
  multicast,
} from './extended/routing.ts';
import {
  dataObjectExchange,
  designatedVendorSpecific,
  eventCollectorAssociation,
  namedOnlyExtended,
  rootComplexLinkDeclaration,
  serialNumber,
  vendorSpecificExtended,
} from './extended/small.ts';
import {
  multiFunctionVirtualChannel,
  virtualChannel,
  virtualChannelMultiFunction,
} from './extended/virtual-channel.ts';
import {
  addressTranslationServices,
  pageRequest,
  processAddressSpaceId,
  singleRootVirtualization,
} from './extended/virtualization.ts';
import { headerType0 } from './header-type0.ts';
import { headerType1 } from './header-type1.ts';
import { headerType2 } from './header-type2.ts';
import { msi } from './msi.ts';
import { msiX } from './msi-x.ts';
import { pciExpress } from './pci-express/index.ts';
import { pciX } from './pci-x.ts';
import { powerManagement } from './power-management.ts';
import {
  advancedFeatures,
  debugPort,
  enhancedAllocation,
  namedOnly,
  slotIdentification,
  subsystemId,
  vendorSpecific,
  vitalProductData,
} from './small.ts';
import type { StructureRow } from './types.ts';

export { correctableErrors, uncorrectableErrors } from './extended/aer.ts';
export { portTypes } from './pci-express/device.ts';
export type {
  Citation,
  FieldKind,
  FieldRow,
  FunctionFacts,
  PlacedRegisters,
  RegisterRow,
  StructureRow,
  StructureView,
} from './types.ts';

function byId(rows: readonly StructureRow[]): ReadonlyMap<number, StructureRow> {
  return new Map(rows.map((row) => [row.id, row]));
}

/** Headers by Header Layout. */
export const headers = byId([headerType0, headerType1, headerType2]);

/** Capabilities of the first 256 bytes, by Capability ID. */
export const capabilities = byId([
  powerManagement,
  vitalProductData,
  slotIdentification,
  msi,
  pciX,
  vendorSpecific,
  debugPort,
  subsystemId,
  pciExpress,
  msiX,
  advancedFeatures,
  enhancedAllocation,
  ...namedOnly,
]);

/** Extended capabilities, by PCI Express Extended Capability ID. */
export const extendedCapabilities = byId([
  advancedErrorReporting,
  virtualChannel,
  virtualChannelMultiFunction,
  multiFunctionVirtualChannel,
  serialNumber,
  powerBudgeting,
  rootComplexLinkDeclaration,
  eventCollectorAssociation,
  vendorSpecificExtended,
  accessControlServices,
  alternativeRoutingId,
  addressTranslationServices,
  singleRootVirtualization,
  multicast,
  pageRequest,
  resizableBar,
  vfResizableBar,
  dynamicPowerAllocation,
  processingHints,
  latencyToleranceReporting,
  secondaryPciExpress,
  processAddressSpaceId,
  downstreamPortContainment,
  l1PmSubstates,
  precisionTimeMeasurement,
  designatedVendorSpecific,
  dataLinkFeature,
  physicalLayer16,
  laneMargining,
  physicalLayer32,
  physicalLayer64,
  dataObjectExchange,
  device3,
  ...namedOnlyExtended,
]);
