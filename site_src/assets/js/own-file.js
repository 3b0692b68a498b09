// Files of this site alone, below what the browser keeps for it: read in one step, while a cache hands
// a large body over in many small pieces.  For workers; whatever is missing in a browser throws.

const folder = () => navigator.storage.getDirectory();

/** Write a whole file, in place of one of that name. @param {string} name @param {Uint8Array} bytes */
export async function writeFile(name, bytes) {
  const file = await (await folder()).getFileHandle(name, { create: true });
  const access = await file.createSyncAccessHandle();
  try {
    access.truncate(0);
    if (access.write(bytes, { at: 0 }) !== bytes.length) throw new Error("the file was cut short");
    access.flush();
  } finally {
    access.close();
  }
}

/** @param {string} name @returns {Promise<ArrayBuffer>} */
export async function readFile(name) {
  const file = await (await folder()).getFileHandle(name);
  let access;
  try {
    // So that two tabs can read it at once.
    access = await file.createSyncAccessHandle(/** @type {any} */ ({ mode: "read-only" }));
  } catch {
    return (await file.getFile()).arrayBuffer();
  }
  try {
    const bytes = new Uint8Array(access.getSize());
    access.read(bytes, { at: 0 });
    return bytes.buffer;
  } finally {
    access.close();
  }
}

/** Remove all files whose name begins so, but for one. @param {string} start @param {string} [but] */
export async function removeFiles(start, but) {
  const all = await folder();
  const names = [];
  for await (const name of /** @type {any} */ (all).keys()) names.push(name);
  for (const name of names) if (name.startsWith(start) && name !== but) await all.removeEntry(name);
}
