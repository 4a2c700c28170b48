using Hindbeat.Performances;
using Hindbeat.Studies;

namespace Hindbeat.Tests.Studies;

/// <summary>A study becomes the document, figure by figure.</summary>
public class StudyDocumentsTests
{
    [Fact]
    public void Every_figure_reaches_its_field()
    {
        // The snare's open interval cannot be written; the document is made from a study without it.
        Study study = SampleStudies.Of();
        study = study with { Feel = study.Feel with { LayBack = [study.Feel.LayBack[0]] } };
        using var stream = new MemoryStream();
        StudyDocuments.From(study, new Dictionary<string, string> { ["bpm"] = "typed" }).Write(stream);
        stream.Position = 0;
        StudyDocument document = StudyDocument.Read(stream);
        Assert.Equal(("take 3.mp3", 44100), (document.Recording!.File, document.Recording.SampleRate));
        Assert.Equal((0.1, 9.7), (document.Passage!.From, document.Passage.To));
        Assert.Equal((0.345679, -7.123), (document.Hits[0].T, document.Hits[0].Level));
        Assert.Equal("2/3", document.Hits[1].Position);
        FeelEntry feel = document.Feel!;
        Assert.Equal("closed hat", feel.Reference);
        Assert.Equal(("16th", "swung", 1.62, 24), (feel.Swing[0].Level, feel.Swing[0].Verdict, feel.Swing[0].Ratio, feel.Swing[0].Pairs));
        Assert.Equal(["hat-closed", "ride"], feel.Swing[0].Pieces);
        Assert.Equal((18.25, 0.0307, true), (feel.LayBack[0].Ms, feel.LayBack[0].Beats, feel.LayBack[0].Identified));
        Assert.Equal(("snare", 2, "1/4", -20.0), (feel.Touch[0].Piece, feel.Touch[0].Beat, feel.Touch[0].Position, feel.Touch[0].Level));
        Assert.Equal((101.3, -0.5, 2), (feel.Tempo.Bpm, feel.Tempo.DriftBpmPerMinute, feel.Tempo.Curve.Count));
        Assert.Equal(("signal 1", 99UL, "typed"), (document.Options["listener"].GetString(), document.Options["seed"].GetUInt64(), document.Options["bpm"].GetString()));
        Assert.Equal(3, document.Doubts.Count);
        Assert.Equal(study.Performance.Hits.Select(hit => hit.Piece), document.ToPerformance().Hits.Select(hit => hit.Piece));
    }

    [Fact]
    public void A_study_without_sound_has_no_recording() =>
        Assert.Null(StudyDocuments.From(SampleStudies.WithoutSound("Typed")).Recording);
}
