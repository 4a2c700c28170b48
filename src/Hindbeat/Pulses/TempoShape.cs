namespace Hindbeat.Pulses;

/// <summary>What shape the tempo has over a passage.</summary>
public enum TempoShape
{
    /// <summary>Found: one steady tempo when the strokes keep to it, else a curve.</summary>
    Found,

    /// <summary>One tempo throughout: a straight line of beat times (method B of <c>docs/decisions/pulse-2-curve.md</c>).</summary>
    Steady,

    /// <summary>Beat times as a parabola, so that the tempo changes evenly (after Senn et al., forty popular drum patterns, data readme).</summary>
    Quadratic,

    /// <summary>A smooth curve, or a line with bends, whichever the strokes ask for.</summary>
    Curved,
}
