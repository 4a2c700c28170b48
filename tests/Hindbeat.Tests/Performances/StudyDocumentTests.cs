using System.Text;
using System.Text.Json;
using CsCheck;
using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Tests.Performances;

/// <summary>The document that other programs read: its fields by name, its round trip, and what it refuses.</summary>
public class StudyDocumentTests
{
    /// <summary>Typed by hand from the field list of the design, not written by the code under test.</summary>
    private const string ByHand = """
        {
          "format": "hindbeat-study", "version": 1,
          "recording": { "file": "take.wav", "seconds": 4.5, "sampleRate": 48000, "channels": 2, "sha256": "ab12" },
          "passage": { "from": 0, "to": 4.5 },
          "pulse": { "meter": "4/4", "bpm": 120, "confidence": 0.9,
            "beats": [ { "t": 0.5, "bar": 1, "beat": 1 }, { "t": 1.0, "bar": 1, "beat": 2 }, { "t": 1.5, "bar": 1, "beat": 3 } ] },
          "hits": [
            { "t": 0.512, "piece": "kick", "velocity": 100, "level": -8.25, "confidence": 0.98,
              "bar": 1, "beat": 1, "position": "0", "deviationMs": 12, "marks": ["accent"] },
            { "t": 0.75, "piece": "hat-closed", "velocity": 40, "level": -30, "confidence": 0.5, "marks": ["ghost", "of-the-future"], "colour": "blue" } ],
          "feel": {
            "reference": "hats",
            "swing": [ { "level": "16th", "pieces": ["hat-closed"], "ratio": 1.62, "low": 1.5, "high": 1.7, "pairs": 24, "verdict": "swung", "doubts": [] } ],
            "layBack": [ { "piece": "kick", "ms": 18, "low": 15, "high": 21, "beats": 0.036, "hits": 16, "identified": true, "doubts": ["A doubt."] } ],
            "looseness": [ { "piece": "kick", "ms": 6, "low": 5, "high": 8 } ],
            "touch": [ { "piece": "snare", "position": "1/4", "level": -20, "low": -22, "high": -18, "beat": 2 } ],
            "tempo": { "bpm": 120, "driftBpmPerMinute": -0.5, "low": -1, "high": 0, "curve": [ { "t": 0.5, "bpm": 120 } ] } },
          "options": { "listener": "signal", "seed": 7 }, "doubts": ["Another."], "later": { "unknown": true }
        }
        """;

    [Fact]
    public void A_document_typed_from_the_field_list_is_read()
    {
        StudyDocument document = Read(ByHand);
        Assert.Equal("take.wav", document.Recording!.File);
        Assert.Equal(1.62, document.Feel!.Swing[0].Ratio);
        Assert.Equal(["A doubt."], document.Feel.LayBack[0].Doubts);
        Assert.Equal(7, document.Options["seed"].GetInt32());
        Performance performance = document.ToPerformance();
        Hit kick = performance.Hits[0];
        Assert.Equal((KitPiece.Kick, HitMarks.Accent, 100), (kick.Piece, kick.Marks, kick.Velocity));
        Assert.Equal(12.0, performance.Pulse.DeviationOf(kick)!.Value.Milliseconds, 9);
        Assert.Null(performance.Hits[1].Position);
        Assert.Equal(HitMarks.Ghost, performance.Hits[1].Marks);
    }

    [Fact]
    public void Writing_keeps_every_field_of_the_list_under_its_name()
    {
        using JsonDocument written = JsonDocument.Parse(Write(Read(ByHand)));
        using JsonDocument typed = JsonDocument.Parse(ByHand);
        AssertHolds(typed.RootElement, written.RootElement, "$");
    }

    [Fact]
    public void Any_document_comes_back_the_same()
    {
        Gen<double> time = Gen.Int[0, 400_000_000].Select(i => i / 1e6);
        Gen<double> thousandths = Gen.Int[-120_000, 0].Select(i => i / 1e3);
        Gen<double> share = Gen.Int[0, 10_000].Select(i => i / 1e4);
        Gen<HitEntry> hit = Gen.Select(time, Gen.Int[0, KitPieces.All.Count - 1], Gen.Int[1, 127], thousandths, share, Gen.Bool, Gen.Int[0, 95],
            (t, piece, velocity, level, confidence, placed, place) => new HitEntry(
                t, KitPieces.All[piece].Id(), velocity, level, confidence,
                placed ? 1 + (place / 48) : null, placed ? 1 + (place / 12 % 4) : null, placed ? new Fraction(place % 12, 12).ToString() : null,
                placed ? level / 10 : null, velocity % 2 == 0 ? ["ghost", "drag"] : []));
        Gen.Select(hit.List[0, 30], Gen.Int[2, 20], share).Sample((hits, beats, confidence) =>
        {
            var document = new StudyDocument
            {
                Pulse = new PulseEntry("4/4", 97.5, confidence, [.. Enumerable.Range(0, beats).Select(i => new BeatEntry(Math.Round(i * 0.615385, 6), 1 + (i / 4), 1 + (i % 4)))], "by-hand"),
                Hits = hits,
            };
            byte[] once = Write(document);
            StudyDocument back = StudyDocument.Read(new MemoryStream(once));
            // Deviations are the one figure rounded here (level/10 has four decimals).
            Assert.Equal(hits.Select(h => h with { Marks = null, DeviationMs = null }), back.Hits.Select(h => h with { Marks = null, DeviationMs = null }));
            Assert.Equal(hits.Select(h => string.Join(' ', h.Marks!)), back.Hits.Select(h => string.Join(' ', h.Marks!)));
            Assert.Equal(document.Pulse.Beats, back.Pulse.Beats);
            Assert.Equal(once, Write(back));
        }, iter: 300);
    }

    [Fact]
    public void A_performance_comes_back_through_its_entries()
    {
        var pulse = Pulse.Steady(new Meter(6, 8), Bpm.Of(72), AudioTime.FromSeconds(0.25), 9, source: PulseSource.Tracked);
        var hits = new[]
        {
            new Hit(AudioTime.FromSeconds(0.261), KitPiece.Kick, 90, Level.FromDbfs(-9), 1) { Position = new BarPosition(1, 1, 0) },
            new Hit(AudioTime.FromSeconds(0.8), KitPiece.CrossStick, 30, Level.FromDbfs(-31.5), 0.75) { Position = new BarPosition(1, 1, new Fraction(2, 3)), Marks = HitMarks.Flam | HitMarks.Ghost },
            new Hit(AudioTime.FromSeconds(1.1), KitPiece.Other, 1, Level.Silence, 0),
        };
        (PulseEntry entry, IReadOnlyList<HitEntry> entries) = StudyDocument.EntriesOf(new Performance(pulse, hits));
        Performance back = StudyDocument.Read(new MemoryStream(Write(new StudyDocument { Pulse = entry, Hits = entries }))).ToPerformance();
        Assert.Equal(hits, back.Hits);
        Assert.Equal(PulseSource.Tracked, back.Pulse.Source);
        Assert.Equal(new Meter(6, 8), back.Meter);
        Assert.All(pulse.Beats.Zip(back.Pulse.Beats), pair =>
        {
            Assert.Equal((pair.First.Bar, pair.First.Number), (pair.Second.Bar, pair.Second.Number));
            Assert.Equal(pair.First.Time.TotalSeconds, pair.Second.Time.TotalSeconds, 6);
        });
    }

    [Theory]
    [InlineData("", "is not JSON")]
    [InlineData("study", "is not JSON")]
    [InlineData("[1, 2]", "no \"format\"")]
    [InlineData("{\"version\": 1}", "no \"format\"")]
    [InlineData("{\"format\": \"geojson\"}", "a \"geojson\" document")]
    [InlineData("{\"format\": \"hindbeat-study\"}", "no version number")]
    [InlineData("{\"format\": \"hindbeat-study\", \"version\": 2, \"everything\": \"else\"}", "newer Hindbeat")]
    [InlineData("{\"format\": \"hindbeat-study\", \"version\": 1}", "is damaged")]
    public void What_is_no_document_is_refused(string text, string reason) => Refused(text, reason);

    [Theory]
    [InlineData("\"velocity\": 100", "\"velocity\": 128", "Hit 1 has velocity 128; velocities run from 1 to 127")]
    [InlineData("\"velocity\": 100", "\"velocity\": 0", "Hit 1 has velocity 0")]
    [InlineData("\"t\": 0.512", "\"t\": NaN", "is not JSON")]
    [InlineData("\"t\": 0.512", "\"t\": \"NaN\"", "is damaged")]
    [InlineData("\"t\": 0.512", "\"t\": 1e999", "not a finite number")]
    [InlineData("\"t\": 0.75", "\"t\": 33075000", "Hit 2 is at 33075000 s; were samples or milliseconds written as seconds?")]
    [InlineData("\"confidence\": 0.98", "\"confidence\": 98", "Hit 1's confidence is 98")]
    [InlineData("\"level\": -8.25", "\"level\": 100", "was a velocity or a percentage written as level?")]
    [InlineData("\"piece\": \"kick\", \"velocity\"", "\"piece\": \"bass drum\", \"velocity\"", "'bass drum', which is not a kit piece")]
    [InlineData("\"position\": \"0\",", "", "only a part of its written place")]
    [InlineData("\"to\": 4.5", "\"to\": -1", "does not run forward")]
    public void A_value_out_of_its_range_is_named(string good, string bad, string reason)
    {
        Assert.Contains(good, ByHand, StringComparison.Ordinal);
        Refused(ByHand.Replace(good, bad, StringComparison.Ordinal), reason);
    }

    [Theory]
    [InlineData("\"meter\": \"4/4\"", "\"meter\": \"fast\"", "not a time signature")]
    [InlineData("\"t\": 1.0, \"bar\": 1, \"beat\": 2", "\"t\": 0.1, \"bar\": 1, \"beat\": 2", "does not come after")]
    [InlineData("\"position\": \"0\"", "\"position\": \"5/4\"", "below 1")]
    public void Beats_that_make_no_pulse_are_refused(string good, string bad, string reason)
    {
        Assert.Contains(good, ByHand, StringComparison.Ordinal);
        StudyDocument document = Read(ByHand.Replace(good, bad, StringComparison.Ordinal));
        var e = Assert.Throws<InputException>(document.ToPerformance);
        Assert.Contains(reason, e.Message, StringComparison.Ordinal);
        Assert.DoesNotContain('\n', e.Message);
    }

    [Fact]
    public void A_document_with_a_nan_is_not_half_written()
    {
        StudyDocument document = Read(ByHand);
        FeelEntry feel = document.Feel!;
        StudyDocument broken = document with { Feel = feel with { Looseness = [feel.Looseness[0] with { High = double.NaN }] } };
        using var stream = new MemoryStream();
        Assert.Throws<InputException>(() => broken.Write(stream));
        Assert.Equal(0, stream.Length);
    }

    private static StudyDocument Read(string text) => StudyDocument.Read(new MemoryStream(Encoding.UTF8.GetBytes(text)));

    private static byte[] Write(StudyDocument document)
    {
        using var stream = new MemoryStream();
        document.Write(stream);
        return stream.ToArray();
    }

    private static void Refused(string text, string reason)
    {
        var e = Assert.Throws<InputException>(() => Read(text));
        Assert.Contains(reason, e.Message, StringComparison.Ordinal);
        Assert.DoesNotContain('\n', e.Message);
    }

    /// <summary>Everything typed is written, but for what the test put in as unknown.</summary>
    private static void AssertHolds(JsonElement typed, JsonElement written, string path)
    {
        Assert.Equal(typed.ValueKind, written.ValueKind);
        if (typed.ValueKind == JsonValueKind.Object)
        {
            foreach (JsonProperty field in typed.EnumerateObject().Where(field => field.Name is not ("later" or "colour")))
            {
                Assert.True(written.TryGetProperty(field.Name, out JsonElement value), $"{path}.{field.Name} is missing.");
                AssertHolds(field.Value, value, $"{path}.{field.Name}");
            }
        }
        else if (typed.ValueKind == JsonValueKind.Array)
        {
            Assert.Equal(typed.GetArrayLength(), written.GetArrayLength());
            for (int i = 0; i < typed.GetArrayLength(); i++)
                AssertHolds(typed[i], written[i], $"{path}[{i}]");
        }
        else if (typed.ValueKind == JsonValueKind.Number)
        {
            Assert.Equal(typed.GetDouble(), written.GetDouble());
        }
        else
        {
            Assert.Equal(typed.ToString(), written.ToString());
        }
    }
}
