"""Reads a DXF file with ezdxf and prints what is in it as JSON: audit, units, layers, and the entities by layer."""

import json
import sys

import ezdxf
from ezdxf import bbox

doc = ezdxf.readfile(sys.argv[1])
auditor = doc.audit()
space = doc.modelspace()


def extents(layer):
    box = bbox.extents((e for e in space if e.dxf.layer == layer), fast=True)
    return [*box.extmin.vec2, *box.extmax.vec2] if box.has_data else None


used = sorted({entity.dxf.layer for entity in space})
print(
    json.dumps(
        {
            "ezdxf": ezdxf.__version__,
            "version": doc.acad_release,
            "errors": [e.message for e in auditor.errors],
            "fixes": [e.message for e in auditor.fixes],
            "units": doc.header.get("$INSUNITS"),
            "layers": sorted(layer.dxf.name for layer in doc.layers if layer.dxf.name != "Defpoints"),  # without the one that ezdxf adds
            "used": used,
            "extents": {layer: extents(layer) for layer in used},
            "circles": [
                [e.dxf.layer, e.dxf.center.x, e.dxf.center.y, 2 * e.dxf.radius] for e in space.query("CIRCLE")
            ],
            "closed": [
                [e.dxf.layer, [[v.dxf.location.x, v.dxf.location.y] for v in e.vertices]]
                for e in space.query("POLYLINE")
                if e.is_closed
            ],
            "texts": [[e.dxf.layer, ezdxf.decode_dxf_unicode(e.dxf.text)] for e in space.query("TEXT")],
        }
    )
)
