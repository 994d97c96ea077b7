package plan

import (
	"sillbot/internal/calc"
)

// makeGood plans the patches. Those of lime take nothing along but what their coats say.
func (p *Plan) makeGood(c Crew) error {
	for i, patch := range p.Opening.Patches {
		if !patch.Depth.IsPositive() {
			p.Patches = append(p.Patches, calc.Patch{Length: patch.Length, Width: patch.Width, Coats: patch.Coats, ReadyMix: patch.ReadyMix})
			continue
		}
		req := PatchRequest(patch, c)
		made, err := calc.PlanPatch(req)
		if err != nil {
			return err
		}
		p.MadeGood = append(p.MadeGood, MadeGood{i + 1, req, made})
		if store, ok := made.Patch(req); ok {
			p.Patches = append(p.Patches, store)
		}
	}
	return nil
}

// PatchRequest is a patch as calc plans it.
func PatchRequest(patch Patch, c Crew) calc.PatchRequest {
	return calc.PatchRequest{
		Length: patch.Length, Width: patch.Width, Depth: patch.Depth, Wall: patch.Wall, ReadyMix: patch.ReadyMix, Settings: c.Patch,
	}
}
