/** Where the functions of a dump sit. The public names, one by one. */
export { type TopologyFindingId, topologyFindingIds } from './check.ts';
export {
  busesOf,
  type LinkRate,
  linkBetween,
  linksOf,
  type PathBus,
  type PathLink,
  rateText,
  speedTexts,
} from './links.ts';
export {
  type BusNumbers,
  busText,
  expressValue,
  facesDown,
  facesUp,
  has,
  headerValue,
  isBridge,
  leadsToBus,
  type NodeKind,
  registerValue,
  shortAddress,
  type TreeNode,
} from './node.ts';
export { below, type PathStep, pathTo, type RootPath } from './path.ts';
export { type BusTree, busTree } from './tree.ts';
