using System.Globalization;
using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Charting;

/// <summary>The bar that others are laid on: its counts, a line at every straight place, ticks at the triplet places, and room for figures.</summary>
/// <param name="left">Left end of the bar's ground, millimetres.</param>
/// <param name="right">Right end.</param>
internal sealed class FoldedBarGrid(Meter meter, double left, double right)
{
    /// <summary>Height of a line of figures under the means; a row has as many as its figures need.</summary>
    public const double FigureLine = 2.6;

    public const double FigureEm = 2.5;

    private const double FigureAir = 0.4;
    private const double WordEm = 3.4;
    private const double WordAir = 0.6;

    /// <summary>Where a moment of the bar stands; half an eighth of room at both ends, for what is played early on 1 and late at the end.</summary>
    /// <param name="beat">Beats from beat 1.</param>
    public double X(double beat) => left + ((beat + 0.25) / (meter.BeatsPerBar + 0.5) * (right - left));

    /// <summary>A lateness in whole milliseconds with its sign.</summary>
    public static string Figure(double late) => string.Create(CultureInfo.InvariantCulture, $"{late:+0;\u22120;0}");

    /// <summary>On which line under the row each figure stands, from 0: figures of near places (a 16th and a triplet) stand under one another.</summary>
    /// <param name="figures">Middle and text, from left to right; null where there is none.</param>
    public static List<int> FigureLines(IReadOnlyList<(double Middle, string Text)?> figures)
    {
        var ends = new List<double>();
        var lines = new List<int>();
        foreach ((double Middle, string Text)? figure in figures)
        {
            if (figure is not { } known)
            {
                lines.Add(0);
                continue;
            }

            double half = TextFont.Width(known.Text, TextCut.Regular) * FigureEm / 2;
            int line = ends.FindIndex(end => end <= known.Middle - half - FigureAir);
            if (line < 0)
            {
                line = ends.Count;
                ends.Add(0);
            }

            ends[line] = known.Middle + half;
            lines.Add(line);
        }

        return lines;
    }

    /// <param name="top">Above the first row; the counts stand there.</param>
    /// <param name="rows">From where to where each row's dots lie, and the height of its ticks: between rows the lines leave room for figures.</param>
    public void Draw(List<DisplayItem> items, double top, IReadOnlyList<(double Top, double Bottom, double Ticks)> rows)
    {
        Fraction[] straight = meter.IsCompound ? [new(0), new(1, 3), new(2, 3)] : [new(0), new(1, 4), new(1, 2), new(3, 4)];
        double free = double.NegativeInfinity;
        for (int beat = 0; beat < meter.BeatsPerBar; beat++)
        {
            foreach (Fraction within in straight)
            {
                double at = X(beat + within.ToDouble());
                foreach ((double from, double to, _) in rows)
                    items.Add(new LineItem(InkRole.Staff, null, at, from - 1, at, to, within == 0 ? 0.22 : 0.09));
                if (CountWords.Of(meter, (new Fraction(beat) + within) * meter.BeatLength) is not { } word)
                    continue;

                // Of a bar with many beats only those counts are printed that leave air for the next beat.
                double half = TextFont.Width(word, TextCut.Regular) * WordEm / 2;
                double next = X(beat + 1) - (within == 0 ? 0 : WordEm);
                if (at - half < free || (within != 0 && at + half > next))
                    continue;
                items.Add(new TextItem(InkRole.Text, word, TextCut.Regular, at - half, top - 2.5, WordEm));
                free = at + half + WordAir;
            }

            foreach ((_, _, double middle) in meter.IsCompound ? [] : rows)
            {
                foreach (double third in new[] { 1.0 / 3, 2.0 / 3 })
                {
                    double at = X(beat + third);
                    items.Add(new LineItem(InkRole.Staff, null, at, middle - 1.2, at, middle + 1.2, 0.09));
                }
            }
        }
    }
}
