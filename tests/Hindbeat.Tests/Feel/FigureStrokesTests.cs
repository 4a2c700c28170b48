using Hindbeat.Feel;
using Hindbeat.Performances;
using Hindbeat.Rebuilding;

namespace Hindbeat.Tests.Feel;

/// <summary>Every line of every figure names its strokes: as many as it says it rests on, and of its own piece.</summary>
public class FigureStrokesTests
{
    private static readonly Performance Passage = InventedPassage.Make(5).Performance;
    private static readonly FeelReport Report = FeelAnalysis.Measure(Passage);

    [Fact]
    public void There_is_one_list_a_line()
    {
        foreach (FeelFigureKind kind in FeelFigures.All)
        {
            IReadOnlyList<IReadOnlyList<int>> strokes = FigureStrokes.Of(kind, Report, Passage);
            FeelLine[] lines = [.. kind.Lines(Report)];
            Assert.Equal(lines.Length, strokes.Count);
            Assert.All(strokes, each => Assert.NotEmpty(each));
            Assert.All(strokes, each => Assert.All(each, hit => Assert.InRange(hit, 0, Passage.Hits.Count - 1)));
        }
    }

    /// <summary>Figures that rest on strokes themselves, not on pairs or intervals: no stroke missing and none too many.</summary>
    [Theory]
    [InlineData("places")]
    [InlineData("habits")]
    [InlineData("touch")]
    [InlineData("accents")]
    [InlineData("swing-ratio")]
    [InlineData("hat-openness")]
    public void As_many_as_the_line_says(string id)
    {
        FeelFigureKind kind = FeelFigures.All.Single(each => each.Id == id);
        FeelLine[] lines = [.. kind.Lines(Report)];
        Assert.NotEmpty(lines);
        Assert.Equal(lines.Select(line => line.Strokes), FigureStrokes.Of(kind, Report, Passage).Select(strokes => strokes.Count));
    }

    /// <summary>These leave strays out of their count; what is shown holds them, for they are heard.</summary>
    [Theory]
    [InlineData("looseness")]
    [InlineData("lay-back")]
    [InlineData("ghosts")]
    public void At_least_as_many_as_the_line_says(string id)
    {
        FeelFigureKind kind = FeelFigures.All.Single(each => each.Id == id);
        Assert.All(kind.Lines(Report).Zip(FigureStrokes.Of(kind, Report, Passage)), pair => Assert.True(pair.Second.Count >= pair.First.Strokes, $"{pair.First.Subject}: {pair.Second.Count} of {pair.First.Strokes}"));
    }

    [Fact]
    public void A_line_on_one_piece_holds_strokes_of_that_piece()
    {
        FeelLine[] lines = [.. FeelFigures.LayBack.Lines(Report)];
        IReadOnlyList<IReadOnlyList<int>> strokes = FigureStrokes.Of(FeelFigures.LayBack, Report, Passage);
        for (int i = 0; i < lines.Length; i++)
            Assert.All(strokes[i], hit => Assert.Equal(lines[i].Subject, Passage.Hits[hit].Piece.Name()));
    }
}
