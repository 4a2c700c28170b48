using Hindbeat.Feel;
using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Tests.Feel;

public class FeelWordsTests
{
    private static FeelReport Report(double swing = 1.62, double kickMs = 30)
    {
        var feel = new InventedFeel { Tempo = 94, Bars = 8, Drift = 4, Swing16 = swing };
        feel.Groove();
        foreach (KitPiece piece in new[] { KitPiece.HatClosed, KitPiece.Snare, KitPiece.Kick })
            feel.LoosenessMs[piece] = 4;
        feel.LayBackMs[KitPiece.Kick] = kickMs;
        feel.LayBackMs[KitPiece.Snare] = 8;
        return FeelAnalysis.Measure(feel.Make(new Random(3)));
    }

    [Fact]
    public void A_page_of_plain_sentences_names_the_reference_and_never_says_inaudible()
    {
        IReadOnlyList<string> page = FeelWords.Describe(Report());

        Assert.InRange(page.Count, 6, 40);
        Assert.All(page, sentence => Assert.EndsWith(".", sentence, StringComparison.Ordinal));
        Assert.All(page, sentence => Assert.True(char.IsUpper(sentence[0]), sentence));
        Assert.DoesNotContain(page, sentence => sentence.Contains("inaudible", StringComparison.OrdinalIgnoreCase));
        Assert.DoesNotContain(page, sentence => sentence.Contains("NaN", StringComparison.Ordinal));
        Assert.Contains(page, sentence => sentence.Contains("against the closed hat", StringComparison.Ordinal));
        Assert.Contains(page, sentence => sentence.StartsWith("The 16ths swing at 1.6", StringComparison.Ordinal));
        Assert.Contains(page, sentence => sentence.StartsWith("The kick lies", StringComparison.Ordinal) && sentence.Contains("behind", StringComparison.Ordinal));
    }

    /// <summary>Thresholds inside a groove: Câmara et al. 2025, PsyArXiv jsg94 (asynchrony from 19 ms).</summary>
    [Fact]
    public void Sizes_below_a_published_threshold_are_said_to_be_below_what_listeners_in_that_study_could_tell()
    {
        IReadOnlyList<string> page = FeelWords.Describe(Report());
        Assert.Contains("below the 19 ms that listeners in one study could tell", page.Single(sentence => sentence.StartsWith("The snare lies", StringComparison.Ordinal)), StringComparison.Ordinal);
        Assert.DoesNotContain("could tell inside", page.Single(sentence => sentence.StartsWith("The kick lies", StringComparison.Ordinal)), StringComparison.Ordinal);
    }

    [Fact]
    public void Straight_16ths_are_said_to_be_straight_with_what_would_have_shown() =>
        Assert.Contains(FeelWords.Describe(Report(swing: 1)), sentence => sentence.StartsWith("The 16ths are straight", StringComparison.Ordinal) && sentence.Contains("would have shown", StringComparison.Ordinal));

    [Fact]
    public void Two_ghosts_of_very_different_level_are_no_figure_to_read_out()
    {
        Typed typed = new Typed(100, 6).EveryBeat(KitPiece.HatClosed, 0, 0).EveryBar(KitPiece.Snare, 4, 0, 0, -9);
        typed.Hit(KitPiece.Snare, 2, 2, 0, 0, -60).Hit(KitPiece.Snare, 5, 2, 0, 0, -40);
        FeelReport report = FeelAnalysis.Measure(typed.Make());
        Assert.False(Assert.Single(report.Ghosts).IsTold, report.Ghosts[0].Decibels.ToString());

        IReadOnlyList<string> page = FeelWords.Describe(report);

        Assert.DoesNotContain(page, sentence => sentence.Contains("dB below", StringComparison.Ordinal));
        Assert.Contains("How far the snare's ghosts lie below its full strokes cannot be told from 2 of them.", page);
    }

    [Fact]
    public void A_hat_has_soft_strokes_not_ghosts()
    {
        Typed typed = new Typed(100, 8).EveryBeat(KitPiece.HatClosed, 0, 0, -10).EveryBeat(KitPiece.HatClosed, new Fraction(1, 2), 0, -24);

        IReadOnlyList<string> page = FeelWords.Describe(FeelAnalysis.Measure(typed.Make()));

        Assert.Contains(page, sentence => sentence.StartsWith("The closed hat's soft strokes lie 14 dB below", StringComparison.Ordinal));
        Assert.DoesNotContain(page, sentence => sentence.Contains("ghost", StringComparison.Ordinal));
    }

    [Fact]
    public void Every_kind_of_figure_has_a_page_a_unit_and_lines()
    {
        FeelReport report = Report();
        string measures = Path.Combine(LayerTests.RepositoryRoot(), "docs", "measures");
        foreach (FeelFigureKind kind in FeelFigures.All)
        {
            Assert.True(File.Exists(Path.Combine(measures, kind.Id + ".md")), $"docs/measures/{kind.Id}.md is missing");
            Assert.NotEmpty(kind.Unit);
            bool needsMore = kind == FeelFigures.SwingAgainstTempo || kind == FeelFigures.Flams || kind == FeelFigures.LongRange || kind == FeelFigures.Openness;
            Assert.Equal(!needsMore, kind.Lines(report).Any());
        }

        Assert.Equal(FeelFigures.All.Count, FeelFigures.All.Select(kind => kind.Id).Distinct().Count());
    }

    [Theory]
    [InlineData(18.04, "+18.0")]
    [InlineData(-3.25, "−3.3")]
    [InlineData(-0.04, "0.0")]
    public void Milliseconds_carry_their_sign(double value, string text) => Assert.Equal(text, FeelFigures.LayBack.Format(value));

    [Fact]
    public void Places_are_counted_as_drummers_count()
    {
        Assert.Equal("beat 2", FeelFigures.Count(2, 0));
        Assert.Equal("2 e", FeelFigures.Count(2, new Fraction(1, 4)));
        Assert.Equal("2 &", FeelFigures.Count(2, new Fraction(1, 2)));
        Assert.Equal("2 a", FeelFigures.Count(2, new Fraction(3, 4)));
        Assert.Equal("2 + 1/3", FeelFigures.Count(2, new Fraction(1, 3)));
    }
}
