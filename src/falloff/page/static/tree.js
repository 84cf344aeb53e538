// The tree that the server tells: applying patches without touching what they leave alone.

/** @typedef {[string[], any] | [string[]]} Put */

/**
 * The tree after a patch; branches it does not touch stay the same objects.
 * Throws where a parent is not there.
 * @param {any} tree
 * @param {Put[]} patch
 */
export function apply(tree, patch) {
  for (const [path, ...value] of patch) tree = put(tree, path, value);
  return tree;
}

/** @param {any} tree @param {string[]} path @param {any[]} value */
function put(tree, path, value) {
  if (path.length === 0 && value.length > 0) return value[0];
  if (path.length === 0 || tree === null || typeof tree !== "object" || Array.isArray(tree)) {
    throw new Error(`a patch has no place to go: ${path.join(".")}`);
  }
  const [first, ...rest] = path;
  if (rest.length === 0) {
    if (value.length > 0) return { ...tree, [first]: value[0] };
    const { [first]: _gone, ...left } = tree;
    return left;
  }
  if (!Object.hasOwn(tree, first)) {
    throw new Error(`a patch has no place to go: ${path.join(".")}`);
  }
  return { ...tree, [first]: put(tree[first], rest, value) };
}
