using System.Globalization;
using System.Text;
using Hindbeat.Performances;
using Microsoft.AspNetCore.Components;

namespace Hindbeat.Bench.Parts;

/// <summary>
/// The dots of the folded bar as one piece of markup. A component a stroke was the first way: of a study of three minutes they were
/// two megabytes on the wire and most of the wait for the page.
/// </summary>
/// <remarks>Size tells the strength, a hollow dot a ghost stroke, a dashed ring a doubtful one: no colour needed.</remarks>
internal sealed class FoldedStrokes
{
    /// <summary>What a finger or a pointer may miss the dot by, pixels.</summary>
    private const string Reach = "6";

    private readonly StringBuilder _markup = new();

    /// <param name="index">Of the hit in the performance.</param>
    /// <param name="x">SVG length.</param>
    /// <param name="y">SVG length.</param>
    public void Add(int index, Hit hit, string x, string y)
    {
        string unsure = hit.Confidence < Desk.SheetHit.SureFrom ? " unsure" : "", ghost = hit.Marks.HasFlag(HitMarks.Ghost) ? " ghost" : "";
        // Area grows with velocity, so that twice as strong looks twice as large.
        double radius = 1.2 + (1.8 * Math.Sqrt(hit.Velocity / 127.0));
        _markup.Append(CultureInfo.InvariantCulture, $"<g class=\"stroke{unsure}{ghost}\" data-hit=\"{index}\"><circle class=\"reach\" cx=\"{x}\" cy=\"{y}\" r=\"{Reach}\"/><circle class=\"dot\" cx=\"{x}\" cy=\"{y}\" r=\"{radius:0.0}\"/></g>");
    }

    public MarkupString Markup => new(_markup.ToString());
}
