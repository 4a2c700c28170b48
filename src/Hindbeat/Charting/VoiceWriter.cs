using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Charting;

/// <summary>
/// Chooses note values, rests, tuplets and beams for one voice of one bar. A drum stroke has no length of
/// its own, so each note runs on to the next stroke of its voice or to the end of its group, whichever
/// comes first: a rest is written only where a group begins silent.
/// </summary>
/// <remarks>
/// Per group (a beat, as a rule): straight values when every stroke lies on a binary place, else the
/// smallest tuplet that holds all of them. A group is halved (or a dotted one cut in three) before it
/// becomes a tuplet when each part that is played begins with a stroke and a part is plain: a 16th triplet
/// and an eighth read better than a sextuplet with holes.
/// </remarks>
internal sealed class VoiceWriter
{
    private readonly List<ChartEvent> _events = [];
    private readonly List<Tuplet> _tuplets = [];
    private readonly List<BeamRun> _beams = [];

    private VoiceWriter()
    {
    }

    /// <param name="strokes">Sorted by place, no two at the same place, all within the groups.</param>
    /// <param name="groups">The groups of the written part of the bar, in order, without gaps.</param>
    /// <param name="eighthsInFours">Join the beams of two beats of plain eighths in each half of 4/4.</param>
    public static ChartVoice Write(Meter meter, IReadOnlyList<PlacedStroke> strokes, IReadOnlyList<MeterGroup> groups, bool eighthsInFours = false)
    {
        var writer = new VoiceWriter();
        if (strokes.Count == 0)
        {
            Fraction start = groups[0].Start;
            return new ChartVoice([new ChartEvent(start, groups[^1].End - start, new NoteValue(0), []) { FillsBar = true }], [], []);
        }

        for (int i = 0; i < groups.Count; i++)
        {
            MeterGroup group = groups[i];
            List<PlacedStroke> inside = Inside(strokes, group.Start, group.Length);
            if (inside.Count == 0 && i + 1 < groups.Count && MayShareARest(meter, group)
                && Inside(strokes, groups[i + 1].Start, groups[i + 1].Length).Count == 0)
            {
                writer.AddRests(group.Start, Fraction.Zero, group.Length * 2, Fraction.One, dotted: false);
                i++;
                continue;
            }

            int first = writer._events.Count;
            writer.WriteGroup(group.Start, group.Length, inside);
            writer.Beam(first);
        }

        if (eighthsInFours && meter is { Numerator: 4, Denominator: 4 })
            writer.JoinHalfBars();
        return new ChartVoice(writer._events, writer._tuplets, writer._beams);
    }

    /// <summary>One beam over both beats of a half bar that hold two eighths each and nothing else; never over the middle of the bar.</summary>
    private void JoinHalfBars()
    {
        Fraction eighth = new(1, 8);
        for (int i = 0; i + 1 < _beams.Count; i++)
        {
            (BeamRun left, BeamRun right) = (_beams[i], _beams[i + 1]);
            bool plain = left.Last + 1 == right.First && right.Last - left.First == 3
                && Enumerable.Range(left.First, 4).All(e => !_events[e].IsRest && _events[e].Value == new NoteValue(3) && _events[e].Length == eighth);
            if (plain && (_events[left.First].At / new Fraction(1, 2)).Denominator == 1)
            {
                _beams[i] = new BeamRun(left.First, right.Last);
                _beams.RemoveAt(i + 1);
            }
        }
    }

    /// <summary>A half rest is written for beats 1–2 and 3–4 of 4/4 only, never across the middle of the bar (common practice, no source).</summary>
    private static bool MayShareARest(Meter meter, MeterGroup group) =>
        meter is { Numerator: 4, Denominator: 4 } && group.Start.Denominator <= 2;

    private static List<PlacedStroke> Inside(IReadOnlyList<PlacedStroke> strokes, Fraction start, Fraction length) =>
        [.. strokes.Where(stroke => stroke.At >= start && stroke.At < start + length)];

    private void WriteGroup(Fraction start, Fraction length, List<PlacedStroke> strokes)
    {
        if (strokes.All(stroke => IsBinary(stroke.At)))
        {
            WriteRun(start, length, strokes, Fraction.One, length.Numerator % 3 != 0);
            return;
        }

        // One plain triplet reads better than two halves of which one is a triplet of notes half as long.
        if (length.Numerator % 3 != 0 && TupletUnit(start, length, strokes) is (3, 2, not null))
        {
            WriteTuplet(start, length, strokes);
            return;
        }

        int parts = length.Numerator % 3 == 0 ? 3 : 2;
        Fraction part = length / parts;
        List<PlacedStroke>[] byPart = [.. Enumerable.Range(0, parts).Select(i => Inside(strokes, start + (part * i), part))];
        if (Enumerable.Range(0, parts).All(i => byPart[i].Count == 0 || byPart[i][0].At == start + (part * i))
            && (part >= new Fraction(1, 4) || byPart.Any(inside => inside.All(stroke => IsBinary(stroke.At))))
            && Enumerable.Range(0, parts).All(i => TupletUnit(start + (part * i), part, byPart[i]).Unit is not null))
        {
            for (int i = 0; i < parts; i++)
                WriteGroup(start + (part * i), part, byPart[i]);
            return;
        }

        WriteTuplet(start, length, strokes);
    }

    private void WriteTuplet(Fraction start, Fraction length, List<PlacedStroke> strokes)
    {
        (int actual, int normal, NoteValue? unit) = TupletUnit(start, length, strokes);
        if (unit is null)
            throw new InvalidOperationException($"{actual} strokes in {length} of a whole note are too short to write; they should have been brought to a writable place.");
        int first = _events.Count;
        WriteRun(start, length, strokes, new Fraction(actual, normal), dottedRests: false);
        _tuplets.Add(new Tuplet(first, _events.Count - 1, actual, normal, unit.Value));
    }

    /// <summary>The smallest even division that holds every stroke, against the nearest plain one below it; no unit when that is shorter than any note value.</summary>
    private static (int Actual, int Normal, NoteValue? Unit) TupletUnit(Fraction start, Fraction length, List<PlacedStroke> strokes)
    {
        long actual = 1;
        foreach (PlacedStroke stroke in strokes)
            actual = LeastCommonMultiple(actual, ((stroke.At - start) / length).Denominator);
        int normal = length.Numerator % 3 == 0 && actual >= 3 ? 3 : 1;
        while (normal * 2 <= actual)
            normal *= 2;
        return ((int)actual, normal, NoteValue.Exactly(length / normal));
    }

    /// <param name="stretch">Printed : sounding length; 3/2 in a triplet.</param>
    private void WriteRun(Fraction start, Fraction length, List<PlacedStroke> strokes, Fraction stretch, bool dottedRests)
    {
        Fraction end = length * stretch;
        Fraction first = strokes.Count == 0 ? end : (strokes[0].At - start) * stretch;
        AddRests(start, Fraction.Zero, first, stretch, dottedRests || strokes.Count == 0);
        for (int i = 0; i < strokes.Count; i++)
        {
            Fraction at = (strokes[i].At - start) * stretch;
            Fraction next = i + 1 < strokes.Count ? (strokes[i + 1].At - start) * stretch : end;
            NoteValue value = NoteValue.LongestWithin(next - at)
                ?? throw new InvalidOperationException($"Two strokes lie {next - at} of a whole note apart; they should have been brought to a writable place.");
            _events.Add(new ChartEvent(strokes[i].At, value.Length / stretch, value, strokes[i].Notes));
            AddRests(start, at + value.Length, next, stretch, dotted: false);
        }
    }

    /// <summary>Fills printed places <paramref name="from"/> to <paramref name="to"/> with rests that respect the binary grid of the group.</summary>
    private void AddRests(Fraction start, Fraction from, Fraction to, Fraction stretch, bool dotted)
    {
        while (from < to)
        {
            NoteValue value = default;
            for (int halvings = 0; halvings <= NoteValue.MostHalvings; halvings++)
            {
                value = new NoteValue(halvings);
                if (dotted && from == 0 && halvings < NoteValue.MostHalvings && new NoteValue(halvings, 1).Length <= to)
                {
                    value = new NoteValue(halvings, 1);
                    break;
                }

                if (value.Length <= to - from && (from / value.Length).Denominator == 1)
                    break;
            }

            _events.Add(new ChartEvent(start + (from / stretch), value.Length / stretch, value, []));
            from += value.Length;
        }
    }

    /// <summary>Beams the events from an index on: from the first to the last note shorter than a quarter, broken by anything longer.</summary>
    private void Beam(int from)
    {
        int first = -1;
        int last = -1;
        for (int i = from; i <= _events.Count; i++)
        {
            bool ends = i == _events.Count || _events[i].Value.Flags == 0;
            if (ends)
            {
                if (last > first)
                    _beams.Add(new BeamRun(first, last));
                first = last = -1;
            }
            else if (!_events[i].IsRest)
            {
                first = first < 0 ? i : first;
                last = i;
            }
        }
    }

    private static bool IsBinary(Fraction place) => (place.Denominator & (place.Denominator - 1)) == 0;

    private static long LeastCommonMultiple(long a, long b)
    {
        long x = a;
        long y = b;
        while (y != 0)
            (x, y) = (y, x % y);
        return a / x * b;
    }
}
