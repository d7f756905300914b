// Compile for the browser what the course imports: node site_bytecode.mjs FOLDER
//
// FOLDER holds Pyodide's core with python_stdlib.zip and the wheels of a site. What the kernel, cellkit or a line of
// cellkit imports is left as bytecode in FOLDER/bytecode.
import path from "node:path";
import { pathToFileURL } from "node:url";

const folder = path.resolve(process.argv[2]);
const { loadPyodide } = await import(pathToFileURL(path.join(folder, "pyodide.mjs")));
const pyodide = await loadPyodide();
pyodide.FS.mkdir("/folder");
pyodide.FS.mount(pyodide.FS.filesystems.NODEFS, { root: folder }, "/folder");
pyodide.runPython(`
import ast, importlib.util, marshal, sys, zipfile, zipimport
from pathlib import Path
from site import getsitepackages

site, kept = Path(getsitepackages()[0]), "/folder/bytecode"
for wheel in Path("/folder").glob("*.whl"):
    zipfile.ZipFile(wheel).extractall(site)
importlib.invalidate_caches()
sys.pycache_prefix, sys.dont_write_bytecode = kept, False
import piplite.piplite, pyodide_kernel

for path in sorted(site.glob("cellkit/**/*.py")):
    for node in ast.walk(ast.parse(path.read_text())):
        match node:
            case ast.ImportFrom():
                importlib.import_module(node.module)
            case ast.Import():
                for each in node.names:
                    importlib.import_module(each.name)
for module in list(sys.modules.values()):
    if isinstance(module.__loader__, zipimport.zipimporter):  # Python keeps no bytecode of what is in an archive
        path = Path(f"{kept}{module.__spec__.origin}c")
        path.parent.mkdir(parents=True, exist_ok=True)
        code = module.__loader__.get_code(module.__name__)
        path.write_bytes(importlib.util.MAGIC_NUMBER + bytes(12) + marshal.dumps(code))
`);
