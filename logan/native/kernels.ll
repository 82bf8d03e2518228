

; Function Attrs: nofree norecurse nosync nounwind memory(argmem: readwrite)
define internal fastcc void @inside_line_ends(ptr noalias nonnull writeonly %retptr, ptr readonly %arg.b, i64 %arg.size, ptr writeonly %arg.ends) unnamed_addr #0 {
B0:
  %.23 = icmp sgt i64 %arg.size, 0
  br i1 %.23, label %B26.preheader, label %B808

B26.preheader:                                    ; preds = %B0
  %0 = add nsw i64 %arg.size, -1
  %1 = lshr i64 %0, 6
  %2 = icmp eq i64 %1, 0
  br i1 %2, label %B26.epil.preheader, label %B26.preheader.new

B26.preheader.new:                                ; preds = %B26.preheader
  %3 = add nuw nsw i64 %1, 1
  %unroll_iter = and i64 %3, 576460752303423486
  %scevgep4 = getelementptr i8, ptr %arg.ends, i64 16
  br label %B26

B26:                                              ; preds = %B774.1, %B26.preheader.new
  %n.2.0 = phi i64 [ 0, %B26.preheader.new ], [ %.130.1, %B774.1 ]
  %at.2.0 = phi i64 [ 0, %B26.preheader.new ], [ %.45.1, %B774.1 ]
  %niter = phi i64 [ 0, %B26.preheader.new ], [ %niter.next.1, %B774.1 ]
  %.32 = getelementptr inbounds nuw i8, ptr %arg.b, i64 %at.2.0
  %.34 = load <64 x i8>, ptr %.32, align 1
  %.35 = icmp eq <64 x i8> %.34, splat (i8 10)
  %.36 = bitcast <64 x i1> %.35 to i64
  %.45 = or disjoint i64 %at.2.0, 64
  %.47 = icmp slt i64 %arg.size, %.45
  %.51 = sub nsw i64 %arg.size, %at.2.0
  %notmask = shl nsw i64 -1, %.51
  %.53 = xor i64 %notmask, -1
  %.55 = select i1 %.47, i64 %.53, i64 -1
  %found.5.1 = and i64 %.55, %.36
  %.64 = tail call range(i64 0, 65) i64 @llvm.ctpop.i64(i64 %found.5.1)
  %.69 = or i64 %found.5.1, -9223372036854775808
  %.70 = tail call range(i64 0, 64) i64 @llvm.cttz.i64(i64 %.69, i1 true)
  %.72 = or disjoint i64 %.70, %at.2.0
  %.75 = getelementptr i64, ptr %arg.ends, i64 %n.2.0
  store i64 %.72, ptr %.75, align 8
  %.78 = add i64 %found.5.1, -1
  %.80 = and i64 %.78, %found.5.1
  %.83 = or i64 %.80, -9223372036854775808
  %.84 = tail call range(i64 1, 64) i64 @llvm.cttz.i64(i64 %.83, i1 true)
  %.86 = or disjoint i64 %.84, %at.2.0
  %.90 = getelementptr i8, ptr %.75, i64 8
  store i64 %.86, ptr %.90, align 8
  %.92 = add i64 %.80, -1
  %.93 = and i64 %.92, %.80
  %.102.not = icmp eq i64 %.93, 0
  br i1 %.102.not, label %B774, label %B606.preheader

B606.preheader:                                   ; preds = %B26
  %4 = shl i64 %n.2.0, 3
  %scevgep5 = getelementptr i8, ptr %scevgep4, i64 %4
  br label %B606

B606:                                             ; preds = %B606, %B606.preheader
  %lsr.iv6 = phi ptr [ %scevgep5, %B606.preheader ], [ %scevgep7, %B606 ]
  %found.6.1 = phi i64 [ %.93, %B606.preheader ], [ %.119, %B606 ]
  %.105 = tail call range(i64 1, 65) i64 @llvm.cttz.i64(i64 %found.6.1, i1 true)
  %.107 = or disjoint i64 %.105, %at.2.0
  store i64 %.107, ptr %lsr.iv6, align 8
  %.117 = add i64 %found.6.1, -1
  %.119 = and i64 %.117, %found.6.1
  %.122.not = icmp eq i64 %.119, 0
  %scevgep7 = getelementptr i8, ptr %lsr.iv6, i64 8
  br i1 %.122.not, label %B774, label %B606

B774:                                             ; preds = %B606, %B26
  %.130 = add nuw nsw i64 %.64, %n.2.0
  %.32.1 = getelementptr inbounds nuw i8, ptr %arg.b, i64 %.45
  %.34.1 = load <64 x i8>, ptr %.32.1, align 1
  %.35.1 = icmp eq <64 x i8> %.34.1, splat (i8 10)
  %.36.1 = bitcast <64 x i1> %.35.1 to i64
  %.45.1 = add nuw nsw i64 %at.2.0, 128
  %.47.1 = icmp sgt i64 %.45.1, %arg.size
  %.51.1 = sub nsw i64 %arg.size, %.45
  %notmask.1 = shl nsw i64 -1, %.51.1
  %.53.1 = xor i64 %notmask.1, -1
  %.55.1 = select i1 %.47.1, i64 %.53.1, i64 -1
  %found.5.1.1 = and i64 %.55.1, %.36.1
  %.64.1 = tail call range(i64 0, 65) i64 @llvm.ctpop.i64(i64 %found.5.1.1)
  %.69.1 = or i64 %found.5.1.1, -9223372036854775808
  %.70.1 = tail call range(i64 0, 64) i64 @llvm.cttz.i64(i64 %.69.1, i1 true)
  %.72.1 = or disjoint i64 %.70.1, %.45
  %.75.1 = getelementptr i64, ptr %arg.ends, i64 %.130
  store i64 %.72.1, ptr %.75.1, align 8
  %.78.1 = add i64 %found.5.1.1, -1
  %.80.1 = and i64 %.78.1, %found.5.1.1
  %.83.1 = or i64 %.80.1, -9223372036854775808
  %.84.1 = tail call range(i64 1, 64) i64 @llvm.cttz.i64(i64 %.83.1, i1 true)
  %.86.1 = or disjoint i64 %.84.1, %.45
  %.90.1 = getelementptr i8, ptr %.75.1, i64 8
  store i64 %.86.1, ptr %.90.1, align 8
  %.92.1 = add i64 %.80.1, -1
  %.93.1 = and i64 %.92.1, %.80.1
  %.102.not.1 = icmp eq i64 %.93.1, 0
  br i1 %.102.not.1, label %B774.1, label %B606.preheader.1

B606.preheader.1:                                 ; preds = %B774
  %5 = shl i64 %.130, 3
  %scevgep9 = getelementptr i8, ptr %scevgep4, i64 %5
  br label %B606.1

B606.1:                                           ; preds = %B606.1, %B606.preheader.1
  %lsr.iv10 = phi ptr [ %scevgep11, %B606.1 ], [ %scevgep9, %B606.preheader.1 ]
  %found.6.1.1 = phi i64 [ %.119.1, %B606.1 ], [ %.93.1, %B606.preheader.1 ]
  %.105.1 = tail call range(i64 1, 65) i64 @llvm.cttz.i64(i64 %found.6.1.1, i1 true)
  %.107.1 = or disjoint i64 %.105.1, %.45
  store i64 %.107.1, ptr %lsr.iv10, align 8
  %.117.1 = add i64 %found.6.1.1, -1
  %.119.1 = and i64 %.117.1, %found.6.1.1
  %.122.not.1 = icmp eq i64 %.119.1, 0
  %scevgep11 = getelementptr i8, ptr %lsr.iv10, i64 8
  br i1 %.122.not.1, label %B774.1, label %B606.1

B774.1:                                           ; preds = %B606.1, %B774
  %.130.1 = add nuw nsw i64 %.64.1, %.130
  %niter.next.1 = add i64 %niter, 2
  %niter.ncmp.1.not = icmp eq i64 %niter.next.1, %unroll_iter
  br i1 %niter.ncmp.1.not, label %B808.loopexit.unr-lcssa, label %B26

B808.loopexit.unr-lcssa:                          ; preds = %B774.1
  %6 = and i64 %0, 64
  %lcmp.mod.not.not = icmp eq i64 %6, 0
  br i1 %lcmp.mod.not.not, label %B26.epil.preheader, label %B808

B26.epil.preheader:                               ; preds = %B808.loopexit.unr-lcssa, %B26.preheader
  %n.2.0.epil.init = phi i64 [ 0, %B26.preheader ], [ %.130.1, %B808.loopexit.unr-lcssa ]
  %at.2.0.epil.init = phi i64 [ 0, %B26.preheader ], [ %.45.1, %B808.loopexit.unr-lcssa ]
  %.32.epil = getelementptr inbounds nuw i8, ptr %arg.b, i64 %at.2.0.epil.init
  %.34.epil = load <64 x i8>, ptr %.32.epil, align 1
  %.35.epil = icmp eq <64 x i8> %.34.epil, splat (i8 10)
  %.36.epil = bitcast <64 x i1> %.35.epil to i64
  %.45.epil = add nuw nsw i64 %at.2.0.epil.init, 64
  %.47.epil = icmp sgt i64 %.45.epil, %arg.size
  %.51.epil = sub nsw i64 %arg.size, %at.2.0.epil.init
  %notmask.epil = shl nsw i64 -1, %.51.epil
  %.53.epil = xor i64 %notmask.epil, -1
  %.55.epil = select i1 %.47.epil, i64 %.53.epil, i64 -1
  %found.5.1.epil = and i64 %.55.epil, %.36.epil
  %.64.epil = tail call range(i64 0, 65) i64 @llvm.ctpop.i64(i64 %found.5.1.epil)
  %.69.epil = or i64 %found.5.1.epil, -9223372036854775808
  %.70.epil = tail call range(i64 0, 64) i64 @llvm.cttz.i64(i64 %.69.epil, i1 true)
  %.72.epil = or disjoint i64 %.70.epil, %at.2.0.epil.init
  %.75.epil = getelementptr i64, ptr %arg.ends, i64 %n.2.0.epil.init
  store i64 %.72.epil, ptr %.75.epil, align 8
  %.78.epil = add i64 %found.5.1.epil, -1
  %.80.epil = and i64 %.78.epil, %found.5.1.epil
  %.83.epil = or i64 %.80.epil, -9223372036854775808
  %.84.epil = tail call range(i64 1, 64) i64 @llvm.cttz.i64(i64 %.83.epil, i1 true)
  %.86.epil = or disjoint i64 %.84.epil, %at.2.0.epil.init
  %.90.epil = getelementptr i8, ptr %.75.epil, i64 8
  store i64 %.86.epil, ptr %.90.epil, align 8
  %.92.epil = add i64 %.80.epil, -1
  %.93.epil = and i64 %.92.epil, %.80.epil
  %.102.not.epil = icmp eq i64 %.93.epil, 0
  br i1 %.102.not.epil, label %B774.epil, label %B606.preheader.epil

B606.preheader.epil:                              ; preds = %B26.epil.preheader
  %7 = shl i64 %n.2.0.epil.init, 3
  %8 = getelementptr i8, ptr %arg.ends, i64 %7
  %scevgep = getelementptr i8, ptr %8, i64 16
  br label %B606.epil

B606.epil:                                        ; preds = %B606.epil, %B606.preheader.epil
  %lsr.iv = phi ptr [ %scevgep3, %B606.epil ], [ %scevgep, %B606.preheader.epil ]
  %found.6.1.epil = phi i64 [ %.119.epil, %B606.epil ], [ %.93.epil, %B606.preheader.epil ]
  %.105.epil = tail call range(i64 1, 65) i64 @llvm.cttz.i64(i64 %found.6.1.epil, i1 true)
  %.107.epil = or disjoint i64 %.105.epil, %at.2.0.epil.init
  store i64 %.107.epil, ptr %lsr.iv, align 8
  %.117.epil = add i64 %found.6.1.epil, -1
  %.119.epil = and i64 %.117.epil, %found.6.1.epil
  %.122.not.epil = icmp eq i64 %.119.epil, 0
  %scevgep3 = getelementptr i8, ptr %lsr.iv, i64 8
  br i1 %.122.not.epil, label %B774.epil, label %B606.epil

B774.epil:                                        ; preds = %B606.epil, %B26.epil.preheader
  %.130.epil = add nuw nsw i64 %.64.epil, %n.2.0.epil.init
  br label %B808

B808:                                             ; preds = %B774.epil, %B808.loopexit.unr-lcssa, %B0
  %n.3.1 = phi i64 [ 0, %B0 ], [ %.130.1, %B808.loopexit.unr-lcssa ], [ %.130.epil, %B774.epil ]
  store i64 %n.3.1, ptr %retptr, align 8
  ret void
}

; Function Attrs: mustprogress nocallback nofree nosync nounwind speculatable willreturn memory(none)
declare i64 @llvm.ctpop.i64(i64) #1

; Function Attrs: mustprogress nocallback nofree nosync nounwind speculatable willreturn memory(none)
declare i64 @llvm.cttz.i64(i64, i1 immarg) #2

; Function Attrs: nofree norecurse nosync nounwind memory(argmem: readwrite)
define i64 @line_ends(ptr readonly %.1, i64 %.2, ptr writeonly %.3) local_unnamed_addr #0 {
entry:
  %.5 = alloca i64, align 8
  store i64 0, ptr %.5, align 8
  call fastcc void @inside_line_ends(ptr nonnull %.5, ptr %.1, i64 %.2, ptr %.3) #4
  %.19 = load i64, ptr %.5, align 8
  ret i64 %.19
}

; Function Attrs: nofree norecurse nosync nounwind memory(argmem: readwrite)
define internal fastcc void @inside_can_text(ptr noalias nonnull writeonly %retptr, ptr readonly %arg.b, i64 %arg.used, ptr readonly %arg.ends, i64 %arg.n, i64 %arg.layouts, ptr readonly %arg.size, ptr readonly %arg.bus, ptr readonly %arg.whole, ptr readonly %arg.fraction, ptr readonly %arg.worth, ptr readonly %arg.seconds, ptr readonly %arg.form, ptr readonly %arg.hexadecimal, i64 %arg.latest_ns, ptr writeonly %arg.kept, ptr writeonly %arg.t_ns, ptr writeonly %arg.can_id, ptr writeonly %arg.flags, ptr writeonly %arg.out_bus, ptr writeonly %arg.length, ptr writeonly %arg.data, ptr writeonly %arg.left) unnamed_addr #0 {
B0.endif:
  %arg.layouts.fr = freeze i64 %arg.layouts
  %.arg.n = tail call i64 @llvm.smax.i64(i64 %arg.n, i64 0)
  %.173713.not = icmp slt i64 %arg.n, 1
  br i1 %.173713.not, label %common.ret, label %B148.lr.ph

B148.lr.ph:                                       ; preds = %B0.endif
  %.427677 = icmp sgt i64 %arg.layouts.fr, 0
  %.217.us777 = load i64, ptr %arg.ends, align 8
  %.229.us778 = icmp slt i64 %.217.us777, 0
  %.233.us779 = icmp sge i64 %.217.us777, %arg.used
  %or.cond.us780 = select i1 %.229.us778, i1 true, i1 %.233.us779
  br i1 %.427677, label %B148.lr.ph.split.us, label %B148.lr.ph.split

B148.lr.ph.split.us:                              ; preds = %B148.lr.ph
  br i1 %or.cond.us780, label %common.ret, label %B200.us.preheader

B200.us.preheader:                                ; preds = %B148.lr.ph.split.us
  %scevgep = getelementptr i8, ptr %arg.b, i64 8
  %scevgep40 = getelementptr i8, ptr %arg.b, i64 1
  br label %B200.us

B148.us:                                          ; preds = %B2626.us
  %.186.us = add nuw i64 %.186.us792, 1
  %.216.us = getelementptr i64, ptr %arg.ends, i64 %.186.us792
  %.217.us = load i64, ptr %.216.us, align 8
  %.229.us = icmp sle i64 %.217.us, %.217.us793
  %.233.us = icmp sge i64 %.217.us, %arg.used
  %or.cond.us = select i1 %.229.us, i1 true, i1 %.233.us
  br i1 %or.cond.us, label %common.ret, label %B200.us

B200.us:                                          ; preds = %B148.us, %B200.us.preheader
  %.217.us793 = phi i64 [ %.217.us, %B148.us ], [ %.217.us777, %B200.us.preheader ]
  %.186.us792 = phi i64 [ %.186.us, %B148.us ], [ 1, %B200.us.preheader ]
  %.179693718.us788 = phi i64 [ %.186.us792, %B148.us ], [ 0, %B200.us.preheader ]
  %n_left.2.0721.us787 = phi i64 [ %n_left.3.1.us, %B148.us ], [ 0, %B200.us.preheader ]
  %last.2.0722.us786 = phi i64 [ %last.3.1552.us, %B148.us ], [ 0, %B200.us.preheader ]
  %begin.2.0723.us785 = phi i64 [ %.306.us, %B148.us ], [ 0, %B200.us.preheader ]
  %seen_high.2.0724.us784 = phi i64 [ %seen_high.3.1554.us, %B148.us ], [ 0, %B200.us.preheader ]
  %seen_low.2.0725.us783 = phi i64 [ %seen_low.3.1556.us, %B148.us ], [ 0, %B200.us.preheader ]
  %seen_layout.2.0726.us782 = phi i64 [ %seen_layout.3.1558.us, %B148.us ], [ -1, %B200.us.preheader ]
  %seen_ns.3.0727.us781 = phi i64 [ %seen_ns.4.1560.us, %B148.us ], [ 0, %B200.us.preheader ]
  %.306.us = add nuw nsw i64 %.217.us793, 1
  %.312.us = icmp sgt i64 %.217.us793, %begin.2.0723.us785
  br i1 %.312.us, label %B222.us, label %B262.endif.us

B222.us:                                          ; preds = %B200.us
  %.318.us = add nsw i64 %.217.us793, -1
  %.320.us = getelementptr i8, ptr %arg.b, i64 %.318.us
  %.321.us = load i8, ptr %.320.us, align 1
  %.323.us = icmp eq i8 %.321.us, 13
  %spec.select.us = select i1 %.323.us, i64 %.318.us, i64 %.217.us793
  br label %B262.endif.us

B262.endif.us:                                    ; preds = %B222.us, %B200.us
  %end.2.1.us = phi i64 [ %.217.us793, %B200.us ], [ %spec.select.us, %B222.us ]
  %.473.us = getelementptr i8, ptr %arg.b, i64 %begin.2.0723.us785
  %.475.us = load <32 x i8>, ptr %.473.us, align 1
  %0 = bitcast <32 x i8> %.475.us to i256
  %1 = lshr i256 %0, 8
  %2 = trunc i256 %1 to i64
  %3 = lshr i256 %0, 72
  %4 = trunc i256 %3 to i64
  %sunkaddr46 = getelementptr i8, ptr %.473.us, i64 32
  br label %B302.us

B302.us:                                          ; preds = %B432.us, %B262.endif.us
  %lsr.iv = phi i64 [ %arg.layouts.fr, %B262.endif.us ], [ %lsr.iv.next, %B432.us ]
  %k.2.1680.us = phi i64 [ %last.2.0722.us786, %B262.endif.us ], [ %spec.select666.us, %B432.us ]
  %.468.us = shl nsw i64 %k.2.1680.us, 7
  %.476.us = getelementptr i8, ptr %arg.form, i64 %.468.us
  %.478.us = load <32 x i8>, ptr %.476.us, align 1
  %.479.us = sub <32 x i8> %.475.us, %.478.us
  %.480.us = getelementptr i8, ptr %.476.us, i64 32
  %.482.us = load <32 x i8>, ptr %.480.us, align 1
  %5 = icmp ugt <32 x i8> %.479.us, %.482.us
  %6 = bitcast <32 x i1> %5 to i32
  %.485.us = icmp eq i32 %6, 0
  br i1 %.485.us, label %B346.us, label %B432.us

B346.us:                                          ; preds = %B302.us
  %.492.us = getelementptr i64, ptr %arg.size, i64 %k.2.1680.us
  %.493.us = load i64, ptr %.492.us, align 8
  %.494.us = icmp slt i64 %.493.us, 33
  br i1 %.494.us, label %B472.us, label %B422.us

B422.us:                                          ; preds = %B346.us
  %.508.us = load <32 x i8>, ptr %sunkaddr46, align 1
  %sunkaddr48 = getelementptr i8, ptr %.476.us, i64 64
  %.511.us = load <32 x i8>, ptr %sunkaddr48, align 1
  %.512.us = sub <32 x i8> %.508.us, %.511.us
  %sunkaddr50 = getelementptr i8, ptr %.476.us, i64 96
  %.515.us = load <32 x i8>, ptr %sunkaddr50, align 1
  %7 = icmp ugt <32 x i8> %.512.us, %.515.us
  %8 = bitcast <32 x i1> %7 to i32
  %.518.us = icmp eq i32 %8, 0
  br i1 %.518.us, label %B472.us, label %B432.us

B432.us:                                          ; preds = %B422.us, %B302.us
  %.539.us = add nsw i64 %k.2.1680.us, 1
  %.541.us = icmp slt i64 %.539.us, %arg.layouts.fr
  %spec.select666.us = select i1 %.541.us, i64 %.539.us, i64 0
  %lsr.iv.next = add nsw i64 %lsr.iv, -1
  %exitcond810.not = icmp eq i64 %lsr.iv.next, 0
  br i1 %exitcond810.not, label %B2606.us, label %B302.us

B472.us:                                          ; preds = %B422.us, %B346.us
  %.621.us = getelementptr i64, ptr %arg.whole, i64 %k.2.1680.us
  %.622.us = load i64, ptr %.621.us, align 8
  %.636.us.idx = shl i64 %k.2.1680.us, 4
  %.636.us = getelementptr i8, ptr %arg.seconds, i64 %.636.us.idx
  %.637.us = load i64, ptr %.636.us, align 8
  %.638.us = and i64 %.637.us, %2
  %.652.us = getelementptr i8, ptr %.636.us, i64 8
  %.653.us = load i64, ptr %.652.us, align 8
  %.654.us = and i64 %.653.us, %4
  %.660.us = icmp ne i64 %.638.us, %seen_high.2.0724.us784
  %.664.us = icmp ne i64 %.654.us, %seen_low.2.0725.us783
  %or.cond667.us = select i1 %.660.us, i1 true, i1 %.664.us
  %.690.us = icmp ne i64 %k.2.1680.us, %seen_layout.2.0726.us782
  %or.cond668.us = select i1 %or.cond667.us, i1 true, i1 %.690.us
  br i1 %or.cond668.us, label %B670.endif.us, label %B904.us

B670.endif.us:                                    ; preds = %B472.us
  %.796684.us.not = icmp slt i64 %.622.us, 1
  br i1 %.796684.us.not, label %B904.us, label %B744.us.preheader

B744.us.preheader:                                ; preds = %B670.endif.us
  %xtraiter = and i64 %.622.us, 7
  %9 = icmp ult i64 %.622.us, 8
  br i1 %9, label %B744.us.epil.preheader, label %B744.us.preheader.new

B744.us.preheader.new:                            ; preds = %B744.us.preheader
  %unroll_iter = and i64 %.622.us, 9223372036854775800
  %scevgep24 = getelementptr i8, ptr %scevgep, i64 %begin.2.0723.us785
  br label %B744.us

B846.us.loopexit.unr-lcssa:                       ; preds = %B744.us
  %lcmp.mod.not = icmp eq i64 %xtraiter, 0
  br i1 %lcmp.mod.not, label %B846.us.loopexit, label %B744.us.epil.preheader

B744.us.epil.preheader:                           ; preds = %B846.us.loopexit.unr-lcssa, %B744.us.preheader
  %t.3.3687.us.epil.init = phi i64 [ 0, %B744.us.preheader ], [ %.844.us.7, %B846.us.loopexit.unr-lcssa ]
  %.802683685.us.epil.init = phi i64 [ 0, %B744.us.preheader ], [ %unroll_iter, %B846.us.loopexit.unr-lcssa ]
  %10 = getelementptr i8, ptr %scevgep40, i64 %begin.2.0723.us785
  %scevgep41 = getelementptr i8, ptr %10, i64 %.802683685.us.epil.init
  br label %B744.us.epil

B744.us.epil:                                     ; preds = %B744.us.epil, %B744.us.epil.preheader
  %t.3.3687.us.epil = phi i64 [ %.844.us.epil, %B744.us.epil ], [ %t.3.3687.us.epil.init, %B744.us.epil.preheader ]
  %epil.iter = phi i64 [ %epil.iter.next, %B744.us.epil ], [ 0, %B744.us.epil.preheader ]
  %.835.us.epil = mul i64 %t.3.3687.us.epil, 10
  %scevgep42 = getelementptr i8, ptr %scevgep41, i64 %epil.iter
  %.841.us.epil = load i8, ptr %scevgep42, align 1
  %11 = and i8 %.841.us.epil, 15
  %12 = zext nneg i8 %11 to i64
  %.844.us.epil = add i64 %.835.us.epil, %12
  %epil.iter.next = add i64 %epil.iter, 1
  %epil.iter.cmp.not = icmp eq i64 %xtraiter, %epil.iter.next
  br i1 %epil.iter.cmp.not, label %B846.us.loopexit, label %B744.us.epil, !llvm.loop !0

B846.us.loopexit:                                 ; preds = %B744.us.epil, %B846.us.loopexit.unr-lcssa
  %.844.us.lcssa = phi i64 [ %.844.us.7, %B846.us.loopexit.unr-lcssa ], [ %.844.us.epil, %B744.us.epil ]
  %13 = mul nsw i64 %.844.us.lcssa, 1000000000
  br label %B904.us

B904.us:                                          ; preds = %B846.us.loopexit, %B670.endif.us, %B472.us
  %seen_high.4.3.us = phi i64 [ %seen_high.2.0724.us784, %B472.us ], [ %.638.us, %B846.us.loopexit ], [ %.638.us, %B670.endif.us ]
  %seen_low.4.3.us = phi i64 [ %seen_low.2.0725.us783, %B472.us ], [ %.654.us, %B846.us.loopexit ], [ %.654.us, %B670.endif.us ]
  %seen_layout.4.3.us = phi i64 [ %seen_layout.2.0726.us782, %B472.us ], [ %k.2.1680.us, %B846.us.loopexit ], [ %k.2.1680.us, %B670.endif.us ]
  %seen_ns.2.3.us = phi i64 [ %seen_ns.3.0727.us781, %B472.us ], [ %13, %B846.us.loopexit ], [ 0, %B670.endif.us ]
  %.881.us = getelementptr i64, ptr %arg.fraction, i64 %k.2.1680.us
  %.882.us = load i64, ptr %.881.us, align 8
  %.883.us = icmp sgt i64 %.882.us, 0
  br i1 %.883.us, label %B958.us, label %B1232.us

B958.us:                                          ; preds = %B904.us
  %spec.select669.us = tail call i64 @llvm.umin.i64(i64 %.882.us, i64 8)
  %14 = getelementptr i8, ptr %arg.b, i64 %.622.us
  %sunkaddr51 = getelementptr i8, ptr %14, i64 %begin.2.0723.us785
  %sunkaddr52 = getelementptr i8, ptr %sunkaddr51, i64 2
  %.913.us = load i64, ptr %sunkaddr52, align 1
  %.915.us = and i64 %.913.us, 1085102592571150095
  %.916.us = shl nuw nsw i64 %spec.select669.us, 3
  %.917.us = sub nuw nsw i64 64, %.916.us
  %.918.us = shl i64 %.915.us, %.917.us
  %.919.us = mul nuw i64 %.918.us, 10
  %.920.us = lshr i64 %.918.us, 8
  %.921.us = add i64 %.919.us, %.920.us
  %.922.us = and i64 %.921.us, 1095216660735
  %.923.us = mul i64 %.922.us, 4294967296000100
  %.924.us = lshr i64 %.921.us, 16
  %.925.us = and i64 %.924.us, 1095216660735
  %.926.us = mul i64 %.925.us, 42949672960001
  %.927.us = add i64 %.926.us, %.923.us
  %.928.us = lshr i64 %.927.us, 32
  %.939.us = icmp samesign ugt i64 %.882.us, 8
  br i1 %.939.us, label %B1140.us, label %B1232.us

B1140.us:                                         ; preds = %B958.us
  %.942.us = mul nuw nsw i64 %.928.us, 10
  %sunkaddr54 = getelementptr i8, ptr %sunkaddr51, i64 10
  %.951.us = load i8, ptr %sunkaddr54, align 1
  %15 = and i8 %.951.us, 15
  %16 = zext nneg i8 %15 to i64
  %.954.us = add nuw nsw i64 %.942.us, %16
  br label %B1232.us

B1232.us:                                         ; preds = %B1140.us, %B958.us, %B904.us
  %parts.3.2.us = phi i64 [ %.954.us, %B1140.us ], [ %.928.us, %B958.us ], [ 0, %B904.us ]
  %.967.us = getelementptr i64, ptr %arg.worth, i64 %k.2.1680.us
  %.968.us = load i64, ptr %.967.us, align 8
  %.969.us = mul nsw i64 %.968.us, %parts.3.2.us
  %.971.us = add nsw i64 %.969.us, %seen_ns.2.3.us
  %.980.us = add nsw i64 %.493.us, %begin.2.0723.us785
  %17 = getelementptr i8, ptr %arg.b, i64 %.980.us
  %.992.us = getelementptr i8, ptr %17, i64 3
  %.993.us = load i8, ptr %.992.us, align 1
  %.995.us = icmp eq i8 %.993.us, 35
  br i1 %.995.us, label %B1352.us, label %B1654.us

B1654.us:                                         ; preds = %B1232.us
  %.1098.us = load <16 x i8>, ptr %17, align 1
  %.1099.us = add <16 x i8> %.1098.us, splat (i8 -48)
  %.1100.us = icmp ult <16 x i8> %.1099.us, splat (i8 10)
  %.1101.us = or <16 x i8> %.1098.us, splat (i8 32)
  %.1102.us = add <16 x i8> %.1101.us, splat (i8 -97)
  %.1103.us = icmp ult <16 x i8> %.1102.us, splat (i8 6)
  %.1104.us = add <16 x i8> %.1101.us, splat (i8 -87)
  %.1105.us = select <16 x i1> %.1103.us, <16 x i8> %.1104.us, <16 x i8> zeroinitializer
  %.1106.us = select <16 x i1> %.1100.us, <16 x i8> %.1099.us, <16 x i8> %.1105.us
  %.1107.us = or <16 x i1> %.1100.us, %.1103.us
  %.1108.us = bitcast <16 x i1> %.1107.us to i16
  %.1113.us = shufflevector <16 x i8> %.1106.us, <16 x i8> poison, <8 x i32> <i32 0, i32 2, i32 4, i32 6, i32 8, i32 10, i32 12, i32 14>
  %.1114.us = shufflevector <16 x i8> %.1106.us, <16 x i8> poison, <8 x i32> <i32 1, i32 3, i32 5, i32 7, i32 9, i32 11, i32 13, i32 15>
  %.1115.us = shl <8 x i8> %.1113.us, splat (i8 4)
  %.1116.us = or <8 x i8> %.1115.us, %.1114.us
  %.1118.us = bitcast <8 x i8> %.1116.us to i64
  %.1129.us = tail call i64 @llvm.bswap.i64(i64 %.1118.us)
  %.1130.us = lshr i64 %.1129.us, 32
  %18 = and i16 %.1108.us, 511
  %.1134.us = icmp eq i16 %18, 255
  br i1 %.1134.us, label %B1858.us, label %B2606.us

B1858.us:                                         ; preds = %B1654.us
  %19 = extractelement <16 x i8> %.1098.us, i64 8
  %.1145.us = icmp eq i8 %19, 35
  %.1150.us = icmp ult i64 %.1129.us, 4611686018427387904
  %spec.select670.us = select i1 %.1145.us, i1 %.1150.us, i1 false
  %.1167.us = add nsw i64 %.980.us, 9
  %.1179.us = icmp ugt i64 %.1129.us, 2305843009213693951
  br i1 %.1179.us, label %B1912.us, label %B1952.us

B1952.us:                                         ; preds = %B1858.us
  br i1 %spec.select670.us, label %B1958.us, label %B2606.us

B1912.us:                                         ; preds = %B1858.us
  %.1194.us = add nsw i64 %.1130.us, -536870912
  br i1 %spec.select670.us, label %B1958.us, label %B2606.us

B1352.us:                                         ; preds = %B1232.us
  %.1000.us = load i8, ptr %17, align 1
  %.1002.us = zext i8 %.1000.us to i64
  %.1003.us = getelementptr i8, ptr %arg.hexadecimal, i64 %.1002.us
  %.1004.us = load i8, ptr %.1003.us, align 1
  %sunkaddr59 = getelementptr i8, ptr %17, i64 1
  %.1012.us = load i8, ptr %sunkaddr59, align 1
  %.1014.us = zext i8 %.1012.us to i64
  %.1015.us = getelementptr i8, ptr %arg.hexadecimal, i64 %.1014.us
  %.1016.us = load i8, ptr %.1015.us, align 1
  %sunkaddr61 = getelementptr i8, ptr %17, i64 2
  %.1024.us = load i8, ptr %sunkaddr61, align 1
  %.1026.us = zext i8 %.1024.us to i64
  %.1027.us = getelementptr i8, ptr %arg.hexadecimal, i64 %.1026.us
  %.1028.us = load i8, ptr %.1027.us, align 1
  %.1034.us = zext i8 %.1004.us to i64
  %.1035.us = zext i8 %.1016.us to i64
  %.1036.us = or i64 %.1035.us, %.1034.us
  %.1038.us = zext i8 %.1028.us to i64
  %.1039.us = or i64 %.1036.us, %.1038.us
  %.1042.us = icmp samesign ult i64 %.1039.us, 16
  br i1 %.1042.us, label %B1482.us, label %B2606.us

B1482.us:                                         ; preds = %B1352.us
  %.1049.us = icmp ult i8 %.1004.us, 8
  %.1069.us = shl nuw nsw i64 %.1034.us, 8
  %.1074.us = shl nuw nsw i64 %.1035.us, 4
  %.1075.us = or i64 %.1074.us, %.1069.us
  %.1080.us = or disjoint i64 %.1075.us, %.1038.us
  %.1085.us = add nsw i64 %.980.us, 4
  br i1 %.1049.us, label %B1958.us, label %B2606.us

B1958.us:                                         ; preds = %B1482.us, %B1912.us, %B1952.us
  %q.3.2460.us = phi i64 [ %.1085.us, %B1482.us ], [ %.1167.us, %B1952.us ], [ %.1167.us, %B1912.us ]
  %number.3.2459.us = phi i64 [ %.1080.us, %B1482.us ], [ %.1130.us, %B1952.us ], [ %.1194.us, %B1912.us ]
  %kind.4.2457.us = phi i8 [ 0, %B1482.us ], [ 1, %B1952.us ], [ 8, %B1912.us ]
  %.1210.not.us = icmp sgt i64 %.971.us, %arg.latest_ns
  br i1 %.1210.not.us, label %B2606.us, label %B1972.us

B1972.us:                                         ; preds = %B1958.us
  %.1224.us = getelementptr inbounds i8, ptr %arg.b, i64 %q.3.2460.us
  %.1226.us = load <16 x i8>, ptr %.1224.us, align 1
  %.1227.us = add <16 x i8> %.1226.us, splat (i8 -48)
  %.1228.us = icmp ult <16 x i8> %.1227.us, splat (i8 10)
  %.1229.us = or <16 x i8> %.1226.us, splat (i8 32)
  %.1230.us = add <16 x i8> %.1229.us, splat (i8 -97)
  %.1231.us = icmp ult <16 x i8> %.1230.us, splat (i8 6)
  %.1232.us = add <16 x i8> %.1229.us, splat (i8 -87)
  %.1233.us = select <16 x i1> %.1231.us, <16 x i8> %.1232.us, <16 x i8> zeroinitializer
  %.1234.us = select <16 x i1> %.1228.us, <16 x i8> %.1227.us, <16 x i8> %.1233.us
  %.1235.us = or <16 x i1> %.1228.us, %.1231.us
  %.1236.us = bitcast <16 x i1> %.1235.us to i16
  %.1237.us = zext i16 %.1236.us to i32
  %.1238.us = xor i32 %.1237.us, -1
  %.1240.us = tail call range(i32 0, 17) i32 @llvm.cttz.i32(i32 %.1238.us, i1 true)
  %.1241.us = shufflevector <16 x i8> %.1234.us, <16 x i8> poison, <8 x i32> <i32 0, i32 2, i32 4, i32 6, i32 8, i32 10, i32 12, i32 14>
  %.1242.us = shufflevector <16 x i8> %.1234.us, <16 x i8> poison, <8 x i32> <i32 1, i32 3, i32 5, i32 7, i32 9, i32 11, i32 13, i32 15>
  %.1243.us = shl <8 x i8> %.1241.us, splat (i8 4)
  %.1244.us = or <8 x i8> %.1243.us, %.1242.us
  %.1245.us = zext nneg i32 %.1240.us to i64
  %.1246.us = bitcast <8 x i8> %.1244.us to i64
  %.1265.us = add nsw i64 %q.3.2460.us, %.1245.us
  %.1273.not.us = icmp eq i64 %.1265.us, %end.2.1.us
  br i1 %.1273.not.us, label %B2260.us, label %B2068.us

B2068.us:                                         ; preds = %B1972.us
  %.1280.us = add nsw i64 %end.2.1.us, -2
  %.1284.us = icmp eq i64 %.1265.us, %.1280.us
  br i1 %.1284.us, label %B2108.us, label %B2606.us

B2108.us:                                         ; preds = %B2068.us
  %.1291.us = getelementptr i8, ptr %arg.b, i64 %.1265.us
  %.1292.us = load i8, ptr %.1291.us, align 1
  %.1294.us = icmp eq i8 %.1292.us, 32
  br i1 %.1294.us, label %B2114.us, label %B2606.us

B2114.us:                                         ; preds = %B2108.us
  %sunkaddr63 = getelementptr i8, ptr %.1291.us, i64 1
  %.1317.us = load i8, ptr %sunkaddr63, align 1
  %20 = and i8 %.1317.us, -33
  switch i8 %20, label %B2606.us [
    i8 82, label %B2260.us
    i8 84, label %B2178.us
  ]

B2178.us:                                         ; preds = %B2114.us
  %.1357.us = or disjoint i8 %kind.4.2457.us, 16
  br label %B2260.us

B2260.us:                                         ; preds = %B2178.us, %B2114.us, %B1972.us
  %kind.5.2472.us = phi i8 [ %.1357.us, %B2178.us ], [ %kind.4.2457.us, %B2114.us ], [ %kind.4.2457.us, %B1972.us ]
  %.1380.us = and i64 %.1245.us, 1
  %.1381.us = icmp eq i64 %.1380.us, 0
  br i1 %.1381.us, label %B2266.us, label %B2606.us

B2266.us:                                         ; preds = %B2260.us
  %.1398.us = icmp samesign ult i32 %.1240.us, 16
  %.1401.us = shl nuw nsw i64 %.1245.us, 2
  %notmask.us = shl nsw i64 -1, %.1401.us
  %.1403.us = xor i64 %notmask.us, -1
  %.1405.us = select i1 %.1398.us, i64 %.1403.us, i64 -1
  %spelt.3.3.us = and i64 %.1405.us, %.1246.us
  %.1416.us = getelementptr i8, ptr %arg.kept, i64 %.179693718.us788
  store i8 1, ptr %.1416.us, align 1
  %.1421.us = getelementptr i64, ptr %arg.t_ns, i64 %.179693718.us788
  store i64 %.971.us, ptr %.1421.us, align 8
  %.1426.us = trunc nuw i64 %number.3.2459.us to i32
  %.1431.us = getelementptr i32, ptr %arg.can_id, i64 %.179693718.us788
  store i32 %.1426.us, ptr %.1431.us, align 4
  %.1437.us = getelementptr i8, ptr %arg.flags, i64 %.179693718.us788
  store i8 %kind.5.2472.us, ptr %.1437.us, align 1
  %.1443.us = getelementptr i64, ptr %arg.bus, i64 %k.2.1680.us
  %.1444.us = load i64, ptr %.1443.us, align 8
  %.1449.us = trunc i64 %.1444.us to i8
  %.1450.us = getelementptr i8, ptr %arg.out_bus, i64 %.179693718.us788
  store i8 %.1449.us, ptr %.1450.us, align 1
  %.1453.us = lshr exact i64 %.1245.us, 1
  %.1456.us = trunc nuw nsw i64 %.1453.us to i8
  %.1459.us = getelementptr i8, ptr %arg.length, i64 %.179693718.us788
  store i8 %.1456.us, ptr %.1459.us, align 1
  %.1464.us = getelementptr i64, ptr %arg.data, i64 %.179693718.us788
  store i64 %spelt.3.3.us, ptr %.1464.us, align 8
  br label %B2626.us

B2606.us:                                         ; preds = %B432.us, %B2260.us, %B2114.us, %B2108.us, %B2068.us, %B1958.us, %B1482.us, %B1352.us, %B1912.us, %B1952.us, %B1654.us
  %last.3.1.ph.us = phi i64 [ %k.2.1680.us, %B1952.us ], [ %k.2.1680.us, %B1958.us ], [ %k.2.1680.us, %B1482.us ], [ %k.2.1680.us, %B1912.us ], [ %k.2.1680.us, %B2068.us ], [ %k.2.1680.us, %B2260.us ], [ %k.2.1680.us, %B2114.us ], [ %k.2.1680.us, %B1352.us ], [ %k.2.1680.us, %B2108.us ], [ %k.2.1680.us, %B1654.us ], [ %last.2.0722.us786, %B432.us ]
  %seen_high.3.1.ph.us = phi i64 [ %seen_high.4.3.us, %B1952.us ], [ %seen_high.4.3.us, %B1958.us ], [ %seen_high.4.3.us, %B1482.us ], [ %seen_high.4.3.us, %B1912.us ], [ %seen_high.4.3.us, %B2068.us ], [ %seen_high.4.3.us, %B2260.us ], [ %seen_high.4.3.us, %B2114.us ], [ %seen_high.4.3.us, %B1352.us ], [ %seen_high.4.3.us, %B2108.us ], [ %seen_high.4.3.us, %B1654.us ], [ %seen_high.2.0724.us784, %B432.us ]
  %seen_low.3.1.ph.us = phi i64 [ %seen_low.4.3.us, %B1952.us ], [ %seen_low.4.3.us, %B1958.us ], [ %seen_low.4.3.us, %B1482.us ], [ %seen_low.4.3.us, %B1912.us ], [ %seen_low.4.3.us, %B2068.us ], [ %seen_low.4.3.us, %B2260.us ], [ %seen_low.4.3.us, %B2114.us ], [ %seen_low.4.3.us, %B1352.us ], [ %seen_low.4.3.us, %B2108.us ], [ %seen_low.4.3.us, %B1654.us ], [ %seen_low.2.0725.us783, %B432.us ]
  %seen_layout.3.1.ph.us = phi i64 [ %seen_layout.4.3.us, %B1952.us ], [ %seen_layout.4.3.us, %B1958.us ], [ %seen_layout.4.3.us, %B1482.us ], [ %seen_layout.4.3.us, %B1912.us ], [ %seen_layout.4.3.us, %B2068.us ], [ %seen_layout.4.3.us, %B2260.us ], [ %seen_layout.4.3.us, %B2114.us ], [ %seen_layout.4.3.us, %B1352.us ], [ %seen_layout.4.3.us, %B2108.us ], [ %seen_layout.4.3.us, %B1654.us ], [ %seen_layout.2.0726.us782, %B432.us ]
  %seen_ns.4.1.ph.us = phi i64 [ %seen_ns.2.3.us, %B1952.us ], [ %seen_ns.2.3.us, %B1958.us ], [ %seen_ns.2.3.us, %B1482.us ], [ %seen_ns.2.3.us, %B1912.us ], [ %seen_ns.2.3.us, %B2068.us ], [ %seen_ns.2.3.us, %B2260.us ], [ %seen_ns.2.3.us, %B2114.us ], [ %seen_ns.2.3.us, %B1352.us ], [ %seen_ns.2.3.us, %B2108.us ], [ %seen_ns.2.3.us, %B1654.us ], [ %seen_ns.3.0727.us781, %B432.us ]
  %.1579.us = getelementptr i64, ptr %arg.left, i64 %n_left.2.0721.us787
  store i64 %.179693718.us788, ptr %.1579.us, align 8
  %.1584.us = add nsw i64 %n_left.2.0721.us787, 1
  br label %B2626.us

B2626.us:                                         ; preds = %B2606.us, %B2266.us
  %seen_ns.4.1560.us = phi i64 [ %seen_ns.2.3.us, %B2266.us ], [ %seen_ns.4.1.ph.us, %B2606.us ]
  %seen_layout.3.1558.us = phi i64 [ %seen_layout.4.3.us, %B2266.us ], [ %seen_layout.3.1.ph.us, %B2606.us ]
  %seen_low.3.1556.us = phi i64 [ %seen_low.4.3.us, %B2266.us ], [ %seen_low.3.1.ph.us, %B2606.us ]
  %seen_high.3.1554.us = phi i64 [ %seen_high.4.3.us, %B2266.us ], [ %seen_high.3.1.ph.us, %B2606.us ]
  %last.3.1552.us = phi i64 [ %k.2.1680.us, %B2266.us ], [ %last.3.1.ph.us, %B2606.us ]
  %n_left.3.1.us = phi i64 [ %n_left.2.0721.us787, %B2266.us ], [ %.1584.us, %B2606.us ]
  %exitcond812.not = icmp eq i64 %.186.us792, %.arg.n
  br i1 %exitcond812.not, label %common.ret, label %B148.us

B744.us:                                          ; preds = %B744.us, %B744.us.preheader.new
  %t.3.3687.us = phi i64 [ 0, %B744.us.preheader.new ], [ %.844.us.7, %B744.us ]
  %.802683685.us = phi i64 [ 0, %B744.us.preheader.new ], [ %.809.us.7, %B744.us ]
  %.835.us = mul i64 %t.3.3687.us, 10
  %scevgep38 = getelementptr i8, ptr %scevgep24, i64 %.802683685.us
  %scevgep39 = getelementptr i8, ptr %scevgep38, i64 -7
  %.841.us = load i8, ptr %scevgep39, align 1
  %21 = and i8 %.841.us, 15
  %22 = zext nneg i8 %21 to i64
  %.844.us = add i64 %.835.us, %22
  %.835.us.1 = mul i64 %.844.us, 10
  %scevgep37 = getelementptr i8, ptr %scevgep38, i64 -6
  %.841.us.1 = load i8, ptr %scevgep37, align 1
  %23 = and i8 %.841.us.1, 15
  %24 = zext nneg i8 %23 to i64
  %.844.us.1 = add i64 %.835.us.1, %24
  %.835.us.2 = mul i64 %.844.us.1, 10
  %scevgep35 = getelementptr i8, ptr %scevgep38, i64 -5
  %.841.us.2 = load i8, ptr %scevgep35, align 1
  %25 = and i8 %.841.us.2, 15
  %26 = zext nneg i8 %25 to i64
  %.844.us.2 = add i64 %.835.us.2, %26
  %.835.us.3 = mul i64 %.844.us.2, 10
  %scevgep33 = getelementptr i8, ptr %scevgep38, i64 -4
  %.841.us.3 = load i8, ptr %scevgep33, align 1
  %27 = and i8 %.841.us.3, 15
  %28 = zext nneg i8 %27 to i64
  %.844.us.3 = add i64 %.835.us.3, %28
  %.835.us.4 = mul i64 %.844.us.3, 10
  %scevgep31 = getelementptr i8, ptr %scevgep38, i64 -3
  %.841.us.4 = load i8, ptr %scevgep31, align 1
  %29 = and i8 %.841.us.4, 15
  %30 = zext nneg i8 %29 to i64
  %.844.us.4 = add i64 %.835.us.4, %30
  %.835.us.5 = mul i64 %.844.us.4, 10
  %scevgep29 = getelementptr i8, ptr %scevgep38, i64 -2
  %.841.us.5 = load i8, ptr %scevgep29, align 1
  %31 = and i8 %.841.us.5, 15
  %32 = zext nneg i8 %31 to i64
  %.844.us.5 = add i64 %.835.us.5, %32
  %.835.us.6 = mul i64 %.844.us.5, 10
  %scevgep27 = getelementptr i8, ptr %scevgep38, i64 -1
  %.841.us.6 = load i8, ptr %scevgep27, align 1
  %33 = and i8 %.841.us.6, 15
  %34 = zext nneg i8 %33 to i64
  %.844.us.6 = add i64 %.835.us.6, %34
  %.809.us.7 = add nuw nsw i64 %.802683685.us, 8
  %.835.us.7 = mul i64 %.844.us.6, 10
  %.841.us.7 = load i8, ptr %scevgep38, align 1
  %35 = and i8 %.841.us.7, 15
  %36 = zext nneg i8 %35 to i64
  %.844.us.7 = add i64 %.835.us.7, %36
  %niter.ncmp.7 = icmp eq i64 %unroll_iter, %.809.us.7
  br i1 %niter.ncmp.7, label %B846.us.loopexit.unr-lcssa, label %B744.us

B148.lr.ph.split:                                 ; preds = %B148.lr.ph
  br i1 %or.cond.us780, label %common.ret, label %B200.preheader

B200.preheader:                                   ; preds = %B148.lr.ph.split
  %37 = add nsw i64 %.arg.n, -1
  br label %B200

B148:                                             ; preds = %B200
  %sunkaddr73 = getelementptr i8, ptr %arg.ends, i64 %39
  %sunkaddr74 = getelementptr i8, ptr %sunkaddr73, i64 8
  %.217 = load i64, ptr %sunkaddr74, align 8
  %.229 = icmp sle i64 %.217, %.217767
  %.233 = icmp sge i64 %.217, %arg.used
  %or.cond = select i1 %.229, i1 true, i1 %.233
  %.1584 = add nuw nsw i64 %n_left.2.0721763, 1
  br i1 %or.cond, label %common.ret, label %B200

B200.common.ret.loopexit22_crit_edge:             ; preds = %B200
  %38 = add nuw nsw i64 %n_left.2.0721763, 1
  br label %common.ret

common.ret:                                       ; preds = %B148, %B2626.us, %B148.us, %B200.common.ret.loopexit22_crit_edge, %B148.lr.ph.split, %B148.lr.ph.split.us, %B0.endif
  %storemerge671 = phi i64 [ 0, %B0.endif ], [ -1, %B148.lr.ph.split.us ], [ -1, %B148.lr.ph.split ], [ %38, %B200.common.ret.loopexit22_crit_edge ], [ %n_left.3.1.us, %B2626.us ], [ -1, %B148.us ], [ -1, %B148 ]
  store i64 %storemerge671, ptr %retptr, align 8
  ret void

B200:                                             ; preds = %B148, %B200.preheader
  %.217767 = phi i64 [ %.217, %B148 ], [ %.217.us777, %B200.preheader ]
  %n_left.2.0721763 = phi i64 [ %.1584, %B148 ], [ 0, %B200.preheader ]
  %39 = shl i64 %n_left.2.0721763, 3
  %scevgep45 = getelementptr i8, ptr %arg.left, i64 %39
  store i64 %n_left.2.0721763, ptr %scevgep45, align 8
  %exitcond.not = icmp eq i64 %37, %n_left.2.0721763
  br i1 %exitcond.not, label %B200.common.ret.loopexit22_crit_edge, label %B148
}

; Function Attrs: mustprogress nocallback nofree nosync nounwind speculatable willreturn memory(none)
declare i64 @llvm.smax.i64(i64, i64) #1

; Function Attrs: mustprogress nocallback nofree nosync nounwind speculatable willreturn memory(none)
declare i64 @llvm.umin.i64(i64, i64) #1

; Function Attrs: mustprogress nocallback nofree nosync nounwind speculatable willreturn memory(none)
declare i64 @llvm.bswap.i64(i64) #1

; Function Attrs: mustprogress nocallback nofree nosync nounwind speculatable willreturn memory(none)
declare i32 @llvm.cttz.i32(i32, i1 immarg) #2

; Function Attrs: nofree norecurse nosync nounwind memory(argmem: readwrite)
define i64 @can_text(ptr readonly %.1, i64 %.2, ptr readonly %.3, i64 %.4, i64 %.5, ptr readonly %.6, ptr readonly %.7, ptr readonly %.8, ptr readonly %.9, ptr readonly %.10, ptr readonly %.11, ptr readonly %.12, ptr readonly %.13, i64 %.14, ptr writeonly %.15, ptr writeonly %.16, ptr writeonly %.17, ptr writeonly %.18, ptr writeonly %.19, ptr writeonly %.20, ptr writeonly %.21, ptr writeonly %.22) local_unnamed_addr #0 {
entry:
  %.24 = alloca i64, align 8
  store i64 0, ptr %.24, align 8
  call fastcc void @inside_can_text(ptr nonnull %.24, ptr %.1, i64 %.2, ptr %.3, i64 %.4, i64 %.5, ptr %.6, ptr %.7, ptr %.8, ptr %.9, ptr %.10, ptr %.11, ptr %.12, ptr %.13, i64 %.14, ptr %.15, ptr %.16, ptr %.17, ptr %.18, ptr %.19, ptr %.20, ptr %.21, ptr %.22) #4
  %.38 = load i64, ptr %.24, align 8
  ret i64 %.38
}

; Function Attrs: nofree norecurse nosync nounwind memory(argmem: readwrite)
define internal fastcc void @inside_kinds(ptr noalias nonnull writeonly %retptr, ptr readonly %arg.can_id, ptr readonly %arg.flags, ptr readonly %arg.bus, ptr readonly %arg.length, ptr readonly %arg.t_ns, i64 %arg.n, ptr %arg.table, i64 %arg.mask, ptr %arg.keys, i64 %arg.most, i64 %arg.known, ptr %arg.span, ptr %arg.counts, ptr writeonly %arg.slot) unnamed_addr #0 {
B0.endif:
  %.47 = load i64, ptr %arg.span, align 8
  %.52 = getelementptr i8, ptr %arg.span, i64 8
  %.53 = load i64, ptr %.52, align 8
  %.139183.not = icmp slt i64 %arg.n, 1
  br i1 %.139183.not, label %B908, label %B70

B70:                                              ; preds = %B0.endif, %B826
  %longest.2.0188 = phi i64 [ %spec.select, %B826 ], [ %.53, %B0.endif ]
  %before.2.0187 = phi i64 [ %.183, %B826 ], [ %.47, %B0.endif ]
  %known.2.0186 = phi i64 [ %known.3.1, %B826 ], [ %arg.known, %B0.endif ]
  %.145181184 = phi i64 [ %.152, %B826 ], [ 0, %B0.endif ]
  %.152 = add nuw nsw i64 %.145181184, 1
  %.182 = getelementptr i64, ptr %arg.t_ns, i64 %.145181184
  %.183 = load i64, ptr %.182, align 8
  %.189 = icmp slt i64 %.183, %before.2.0187
  br i1 %.189, label %common.ret, label %B106

common.ret:                                       ; preds = %B738, %B70, %B908
  %known.2.0.lcssa.sink = phi i64 [ %known.2.0.lcssa, %B908 ], [ -1, %B70 ], [ -1, %B738 ]
  store i64 %known.2.0.lcssa.sink, ptr %retptr, align 8
  ret void

B106:                                             ; preds = %B70
  %.231 = sub nsw i64 %.183, %before.2.0187
  %spec.select = tail call i64 @llvm.smax.i64(i64 %.231, i64 %longest.2.0188)
  %.268 = getelementptr i32, ptr %arg.can_id, i64 %.145181184
  %.269 = load i32, ptr %.268, align 4
  %.270 = zext i32 %.269 to i64
  %.273 = getelementptr i8, ptr %arg.flags, i64 %.145181184
  %.274 = load i8, ptr %.273, align 1
  %.275 = zext i8 %.274 to i64
  %.276 = shl nuw nsw i64 %.275, 32
  %.277 = or disjoint i64 %.276, %.270
  %.280 = getelementptr i8, ptr %arg.bus, i64 %.145181184
  %.281 = load i8, ptr %.280, align 1
  %.282 = zext i8 %.281 to i64
  %.283 = shl nuw nsw i64 %.282, 40
  %.284 = or disjoint i64 %.277, %.283
  %.287 = getelementptr i8, ptr %arg.length, i64 %.145181184
  %.288 = load i8, ptr %.287, align 1
  %.289 = zext i8 %.288 to i64
  %.290 = shl nuw nsw i64 %.289, 48
  %.291 = or disjoint i64 %.284, %.290
  %.296 = mul i64 %.291, -7046029254386353131
  %.297 = lshr i64 %.296, 40
  %.299 = and i64 %.297, %arg.mask
  %.309 = getelementptr i16, ptr %arg.table, i64 %.299
  %.310 = load i16, ptr %.309, align 2
  %.321.not = icmp eq i16 %.310, 0
  br i1 %.321.not, label %B738, label %B592

B592:                                             ; preds = %B106
  %.311 = zext i16 %.310 to i64
  %.312 = add nsw i64 %.311, -1
  %.337 = getelementptr i64, ptr %arg.keys, i64 %.312
  %.338 = load i64, ptr %.337, align 8
  %.342.not = icmp eq i64 %.338, %.291
  br i1 %.342.not, label %B826, label %B616

B616:                                             ; preds = %B592, %B702
  %at.2.2 = phi i64 [ %.352, %B702 ], [ %.299, %B592 ]
  %.348 = add nsw i64 %at.2.2, 1
  %.352 = and i64 %.348, %arg.mask
  %.361 = getelementptr i16, ptr %arg.table, i64 %.352
  %.362 = load i16, ptr %.361, align 2
  %.372.not = icmp eq i16 %.362, 0
  br i1 %.372.not, label %B738, label %B702

B702:                                             ; preds = %B616
  %.363 = zext i16 %.362 to i64
  %.364 = add nsw i64 %.363, -1
  %.387 = getelementptr i64, ptr %arg.keys, i64 %.364
  %.388 = load i64, ptr %.387, align 8
  %.392.not = icmp eq i64 %.388, %.291
  br i1 %.392.not, label %B826, label %B616

B738:                                             ; preds = %B616, %B106
  %at.3.1.ph = phi i64 [ %.299, %B106 ], [ %.352, %B616 ]
  %.428 = icmp eq i64 %known.2.0186, %arg.most
  br i1 %.428, label %common.ret, label %B756

B756:                                             ; preds = %B738
  %.475 = getelementptr i64, ptr %arg.keys, i64 %known.2.0186
  store i64 %.291, ptr %.475, align 8
  %.480 = add nsw i64 %known.2.0186, 1
  %.485 = trunc i64 %.480 to i16
  %.488 = getelementptr i16, ptr %arg.table, i64 %at.3.1.ph
  store i16 %.485, ptr %.488, align 2
  br label %B826

B826:                                             ; preds = %B702, %B756, %B592
  %known.3.1 = phi i64 [ %.480, %B756 ], [ %known.2.0186, %B592 ], [ %known.2.0186, %B702 ]
  %s.4.1 = phi i64 [ %known.2.0186, %B756 ], [ %.312, %B592 ], [ %.364, %B702 ]
  %.514 = getelementptr i64, ptr %arg.counts, i64 %s.4.1
  %.515 = load i64, ptr %.514, align 8
  %.516 = add nsw i64 %.515, 1
  store i64 %.516, ptr %.514, align 8
  %.522 = trunc i64 %s.4.1 to i16
  %.527 = getelementptr i16, ptr %arg.slot, i64 %.145181184
  store i16 %.522, ptr %.527, align 2
  %exitcond.not = icmp eq i64 %arg.n, %.152
  br i1 %exitcond.not, label %B908, label %B70

B908:                                             ; preds = %B826, %B0.endif
  %known.2.0.lcssa = phi i64 [ %arg.known, %B0.endif ], [ %known.3.1, %B826 ]
  %before.2.0.lcssa = phi i64 [ %.47, %B0.endif ], [ %.183, %B826 ]
  %longest.2.0.lcssa = phi i64 [ %.53, %B0.endif ], [ %spec.select, %B826 ]
  store i64 %before.2.0.lcssa, ptr %arg.span, align 8
  store i64 %longest.2.0.lcssa, ptr %.52, align 8
  br label %common.ret
}

; Function Attrs: nofree norecurse nosync nounwind memory(argmem: readwrite)
define i64 @kinds(ptr readonly %.1, ptr readonly %.2, ptr readonly %.3, ptr readonly %.4, ptr readonly %.5, i64 %.6, ptr %.7, i64 %.8, ptr %.9, i64 %.10, i64 %.11, ptr %.12, ptr %.13, ptr writeonly %.14) local_unnamed_addr #0 {
entry:
  %.16 = alloca i64, align 8
  store i64 0, ptr %.16, align 8
  call fastcc void @inside_kinds(ptr nonnull %.16, ptr %.1, ptr %.2, ptr %.3, ptr %.4, ptr %.5, i64 %.6, ptr %.7, i64 %.8, ptr %.9, i64 %.10, i64 %.11, ptr %.12, ptr %.13, ptr %.14) #4
  %.30 = load i64, ptr %.16, align 8
  ret i64 %.30
}

; Function Attrs: nofree norecurse nosync nounwind memory(argmem: readwrite)
define internal fastcc void @inside_put_together(ptr noalias nonnull writeonly %retptr, ptr readonly %arg.slot, i64 %arg.n, ptr %arg.place, i64 %arg.slots, i64 %arg.room, ptr readonly %arg.t_ns, ptr readonly %arg.data, ptr writeonly %arg.out_t_ns, ptr writeonly %arg.out_data) unnamed_addr #0 {
B0.endif:
  %.11383.not = icmp slt i64 %arg.n, 1
  br i1 %.11383.not, label %common.ret, label %B36

B36:                                              ; preds = %B0.endif, %B154
  %.1198184 = phi i64 [ %.126, %B154 ], [ 0, %B0.endif ]
  %.126 = add nuw nsw i64 %.1198184, 1
  %0 = shl nuw i64 %.1198184, 1
  %scevgep2 = getelementptr i8, ptr %arg.slot, i64 %0
  %.157 = load i16, ptr %scevgep2, align 2
  %.158 = zext i16 %.157 to i64
  %.164.not = icmp sgt i64 %arg.slots, %.158
  br i1 %.164.not, label %B108, label %common.ret

common.ret:                                       ; preds = %B154, %B108, %B36, %B0.endif
  %arg.n.sink = phi i64 [ %arg.n, %B0.endif ], [ -1, %B36 ], [ -1, %B108 ], [ %arg.n, %B154 ]
  store i64 %arg.n.sink, ptr %retptr, align 8
  ret void

B108:                                             ; preds = %B36
  %.194 = getelementptr i64, ptr %arg.place, i64 %.158
  %.195 = load i64, ptr %.194, align 8
  %.200 = icmp slt i64 %.195, 0
  %.204 = icmp sge i64 %.195, %arg.room
  %or.cond = select i1 %.200, i1 true, i1 %.204
  br i1 %or.cond, label %common.ret, label %B154

B154:                                             ; preds = %B108
  %1 = shl i64 %.1198184, 3
  %scevgep1 = getelementptr i8, ptr %arg.t_ns, i64 %1
  %.237 = load i64, ptr %scevgep1, align 8
  %.240 = getelementptr i64, ptr %arg.out_t_ns, i64 %.195
  store i64 %.237, ptr %.240, align 8
  %scevgep = getelementptr i8, ptr %arg.data, i64 %1
  %.245 = load i64, ptr %scevgep, align 8
  %.250 = getelementptr i64, ptr %arg.out_data, i64 %.195
  store i64 %.245, ptr %.250, align 8
  %.253 = add nuw nsw i64 %.195, 1
  %sunkaddr = shl nuw nsw i64 %.158, 3
  %sunkaddr3 = getelementptr i8, ptr %arg.place, i64 %sunkaddr
  store i64 %.253, ptr %sunkaddr3, align 8
  %exitcond.not = icmp eq i64 %arg.n, %.126
  br i1 %exitcond.not, label %common.ret, label %B36
}

; Function Attrs: nofree norecurse nosync nounwind memory(argmem: readwrite)
define i64 @put_together(ptr readonly %.1, i64 %.2, ptr %.3, i64 %.4, i64 %.5, ptr readonly %.6, ptr readonly %.7, ptr writeonly %.8, ptr writeonly %.9) local_unnamed_addr #0 {
entry:
  %.11 = alloca i64, align 8
  store i64 0, ptr %.11, align 8
  call fastcc void @inside_put_together(ptr nonnull %.11, ptr %.1, i64 %.2, ptr %.3, i64 %.4, i64 %.5, ptr %.6, ptr %.7, ptr %.8, ptr %.9) #4
  %.25 = load i64, ptr %.11, align 8
  ret i64 %.25
}

; Function Attrs: nofree norecurse nosync nounwind memory(argmem: readwrite)
define internal fastcc void @inside_seconds(ptr noalias nonnull writeonly %retptr, ptr readonly %arg.t_ns, i64 %arg.n, i64 %arg.origin_ns, ptr writeonly %arg.out) unnamed_addr #0 {
B0.endif:
  %.9844.not = icmp slt i64 %arg.n, 1
  br i1 %.9844.not, label %B110, label %B36.endif.preheader

B36.endif.preheader:                              ; preds = %B0.endif
  %arg.out1 = ptrtoint ptr %arg.out to i64
  %arg.t_ns2 = ptrtoint ptr %arg.t_ns to i64
  %min.iters.check = icmp ult i64 %arg.n, 8
  %0 = sub i64 %arg.out1, %arg.t_ns2
  %diff.check = icmp ult i64 %0, 64
  %or.cond = select i1 %min.iters.check, i1 true, i1 %diff.check
  br i1 %or.cond, label %B36.endif.preheader3, label %vector.ph

vector.ph:                                        ; preds = %B36.endif.preheader
  %n.vec = and i64 %arg.n, 9223372036854775800
  %broadcast.splatinsert = insertelement <8 x i64> poison, i64 %arg.origin_ns, i64 0
  %broadcast.splat = shufflevector <8 x i64> %broadcast.splatinsert, <8 x i64> poison, <8 x i32> zeroinitializer
  br label %vector.body

vector.body:                                      ; preds = %vector.body, %vector.ph
  %index = phi i64 [ 0, %vector.ph ], [ %index.next, %vector.body ]
  %1 = shl i64 %index, 3
  %scevgep39 = getelementptr i8, ptr %arg.t_ns, i64 %1
  %wide.load = load <8 x i64>, ptr %scevgep39, align 8
  %2 = sub nsw <8 x i64> %wide.load, %broadcast.splat
  %3 = sitofp <8 x i64> %2 to <8 x double>
  %4 = fdiv <8 x double> %3, splat (double 1.000000e+09)
  %scevgep38 = getelementptr i8, ptr %arg.out, i64 %1
  store <8 x double> %4, ptr %scevgep38, align 8
  %index.next = add nuw nsw i64 %index, 8
  %5 = icmp eq i64 %n.vec, %index.next
  br i1 %5, label %middle.block, label %vector.body, !llvm.loop !2

middle.block:                                     ; preds = %vector.body
  %cmp.n = icmp eq i64 %arg.n, %n.vec
  br i1 %cmp.n, label %B110, label %B36.endif.preheader3

B36.endif.preheader3:                             ; preds = %middle.block, %B36.endif.preheader
  %.1044345.ph = phi i64 [ 0, %B36.endif.preheader ], [ %n.vec, %middle.block ]
  %xtraiter = and i64 %arg.n, 7
  %lcmp.mod.not = icmp eq i64 %xtraiter, 0
  br i1 %lcmp.mod.not, label %B36.endif.prol.loopexit, label %B36.endif.prol

B36.endif.prol:                                   ; preds = %B36.endif.preheader3, %B36.endif.prol
  %lsr.iv = phi i64 [ %lsr.iv.next, %B36.endif.prol ], [ %xtraiter, %B36.endif.preheader3 ]
  %.1044345.prol = phi i64 [ %.111.prol, %B36.endif.prol ], [ %.1044345.ph, %B36.endif.preheader3 ]
  %.111.prol = add nuw nsw i64 %.1044345.prol, 1
  %6 = shl i64 %.1044345.prol, 3
  %scevgep37 = getelementptr i8, ptr %arg.t_ns, i64 %6
  %.138.prol = load i64, ptr %scevgep37, align 8
  %.140.prol = sub nsw i64 %.138.prol, %arg.origin_ns
  %.141.prol = sitofp i64 %.140.prol to double
  %.145.prol = fdiv double %.141.prol, 1.000000e+09
  %scevgep36 = getelementptr i8, ptr %arg.out, i64 %6
  store double %.145.prol, ptr %scevgep36, align 8
  %lsr.iv.next = add nsw i64 %lsr.iv, -1
  %prol.iter.cmp.not = icmp eq i64 %lsr.iv.next, 0
  br i1 %prol.iter.cmp.not, label %B36.endif.prol.loopexit, label %B36.endif.prol, !llvm.loop !5

B36.endif.prol.loopexit:                          ; preds = %B36.endif.prol, %B36.endif.preheader3
  %.1044345.unr = phi i64 [ %.1044345.ph, %B36.endif.preheader3 ], [ %.111.prol, %B36.endif.prol ]
  %7 = sub nsw i64 %.1044345.ph, %arg.n
  %8 = icmp ugt i64 %7, -8
  br i1 %8, label %B110, label %B36.endif

B110:                                             ; preds = %B36.endif, %B36.endif.prol.loopexit, %middle.block, %B0.endif
  store i64 %arg.n, ptr %retptr, align 8
  ret void

B36.endif:                                        ; preds = %B36.endif.prol.loopexit, %B36.endif
  %.1044345 = phi i64 [ %.111.7, %B36.endif ], [ %.1044345.unr, %B36.endif.prol.loopexit ]
  %sunkaddr = shl i64 %.1044345, 3
  %sunkaddr40 = getelementptr i8, ptr %arg.t_ns, i64 %sunkaddr
  %.138 = load i64, ptr %sunkaddr40, align 8
  %.140 = sub nsw i64 %.138, %arg.origin_ns
  %.141 = sitofp i64 %.140 to double
  %.145 = fdiv double %.141, 1.000000e+09
  %sunkaddr42 = getelementptr i8, ptr %arg.out, i64 %sunkaddr
  store double %.145, ptr %sunkaddr42, align 8
  %sunkaddr45 = getelementptr i8, ptr %sunkaddr40, i64 8
  %.138.1 = load i64, ptr %sunkaddr45, align 8
  %.140.1 = sub nsw i64 %.138.1, %arg.origin_ns
  %.141.1 = sitofp i64 %.140.1 to double
  %.145.1 = fdiv double %.141.1, 1.000000e+09
  %sunkaddr48 = getelementptr i8, ptr %sunkaddr42, i64 8
  store double %.145.1, ptr %sunkaddr48, align 8
  %sunkaddr51 = getelementptr i8, ptr %sunkaddr40, i64 16
  %.138.2 = load i64, ptr %sunkaddr51, align 8
  %.140.2 = sub nsw i64 %.138.2, %arg.origin_ns
  %.141.2 = sitofp i64 %.140.2 to double
  %.145.2 = fdiv double %.141.2, 1.000000e+09
  %sunkaddr54 = getelementptr i8, ptr %sunkaddr42, i64 16
  store double %.145.2, ptr %sunkaddr54, align 8
  %sunkaddr57 = getelementptr i8, ptr %sunkaddr40, i64 24
  %.138.3 = load i64, ptr %sunkaddr57, align 8
  %.140.3 = sub nsw i64 %.138.3, %arg.origin_ns
  %.141.3 = sitofp i64 %.140.3 to double
  %.145.3 = fdiv double %.141.3, 1.000000e+09
  %sunkaddr60 = getelementptr i8, ptr %sunkaddr42, i64 24
  store double %.145.3, ptr %sunkaddr60, align 8
  %sunkaddr63 = getelementptr i8, ptr %sunkaddr40, i64 32
  %.138.4 = load i64, ptr %sunkaddr63, align 8
  %.140.4 = sub nsw i64 %.138.4, %arg.origin_ns
  %.141.4 = sitofp i64 %.140.4 to double
  %.145.4 = fdiv double %.141.4, 1.000000e+09
  %sunkaddr66 = getelementptr i8, ptr %sunkaddr42, i64 32
  store double %.145.4, ptr %sunkaddr66, align 8
  %sunkaddr69 = getelementptr i8, ptr %sunkaddr40, i64 40
  %.138.5 = load i64, ptr %sunkaddr69, align 8
  %.140.5 = sub nsw i64 %.138.5, %arg.origin_ns
  %.141.5 = sitofp i64 %.140.5 to double
  %.145.5 = fdiv double %.141.5, 1.000000e+09
  %sunkaddr72 = getelementptr i8, ptr %sunkaddr42, i64 40
  store double %.145.5, ptr %sunkaddr72, align 8
  %sunkaddr75 = getelementptr i8, ptr %sunkaddr40, i64 48
  %.138.6 = load i64, ptr %sunkaddr75, align 8
  %.140.6 = sub nsw i64 %.138.6, %arg.origin_ns
  %.141.6 = sitofp i64 %.140.6 to double
  %.145.6 = fdiv double %.141.6, 1.000000e+09
  %sunkaddr78 = getelementptr i8, ptr %sunkaddr42, i64 48
  store double %.145.6, ptr %sunkaddr78, align 8
  %.111.7 = add nuw nsw i64 %.1044345, 8
  %sunkaddr81 = getelementptr i8, ptr %sunkaddr40, i64 56
  %.138.7 = load i64, ptr %sunkaddr81, align 8
  %.140.7 = sub nsw i64 %.138.7, %arg.origin_ns
  %.141.7 = sitofp i64 %.140.7 to double
  %.145.7 = fdiv double %.141.7, 1.000000e+09
  %sunkaddr84 = getelementptr i8, ptr %sunkaddr42, i64 56
  store double %.145.7, ptr %sunkaddr84, align 8
  %exitcond.not.7 = icmp eq i64 %arg.n, %.111.7
  br i1 %exitcond.not.7, label %B110, label %B36.endif, !llvm.loop !6
}

; Function Attrs: nofree norecurse nosync nounwind memory(argmem: readwrite)
define i64 @seconds(ptr readonly %.1, i64 %.2, i64 %.3, ptr writeonly %.4) local_unnamed_addr #0 {
entry:
  %.6 = alloca i64, align 8
  store i64 0, ptr %.6, align 8
  call fastcc void @inside_seconds(ptr nonnull %.6, ptr %.1, i64 %.2, i64 %.3, ptr %.4) #4
  %.20 = load i64, ptr %.6, align 8
  ret i64 %.20
}

; Function Attrs: nofree norecurse nosync nounwind memory(argmem: readwrite)
define internal fastcc void @inside_rows_of_slots(ptr noalias nonnull writeonly %retptr, ptr readonly %arg.slot, i64 %arg.n, ptr readonly %arg.wanted, i64 %arg.slots, ptr writeonly %arg.rows) unnamed_addr #0 {
B0.endif:
  %.10165.not = icmp slt i64 %arg.n, 1
  br i1 %.10165.not, label %common.ret, label %B40

B40:                                              ; preds = %B0.endif, %B112
  %found.2.068 = phi i64 [ %.190, %B112 ], [ 0, %B0.endif ]
  %.1076366 = phi i64 [ %.114, %B112 ], [ 0, %B0.endif ]
  %0 = shl nuw i64 %.1076366, 1
  %scevgep = getelementptr i8, ptr %arg.slot, i64 %0
  %.145 = load i16, ptr %scevgep, align 2
  %.146 = zext i16 %.145 to i64
  %.152.not = icmp sgt i64 %arg.slots, %.146
  br i1 %.152.not, label %B112, label %common.ret

common.ret:                                       ; preds = %B112, %B40, %B0.endif
  %storemerge60 = phi i64 [ 0, %B0.endif ], [ -1, %B40 ], [ %.190, %B112 ]
  store i64 %storemerge60, ptr %retptr, align 8
  ret void

B112:                                             ; preds = %B40
  %.114 = add nuw nsw i64 %.1076366, 1
  %.175 = getelementptr i64, ptr %arg.rows, i64 %found.2.068
  store i64 %.1076366, ptr %.175, align 8
  %.181 = getelementptr i8, ptr %arg.wanted, i64 %.146
  %.182 = load i8, ptr %.181, align 1
  %.186 = icmp ne i8 %.182, 0
  %.188 = zext i1 %.186 to i64
  %.190 = add nuw nsw i64 %found.2.068, %.188
  %exitcond.not = icmp eq i64 %arg.n, %.114
  br i1 %exitcond.not, label %common.ret, label %B40
}

; Function Attrs: nofree norecurse nosync nounwind memory(argmem: readwrite)
define i64 @rows_of_slots(ptr readonly %.1, i64 %.2, ptr readonly %.3, i64 %.4, ptr writeonly %.5) local_unnamed_addr #0 {
entry:
  %.7 = alloca i64, align 8
  store i64 0, ptr %.7, align 8
  call fastcc void @inside_rows_of_slots(ptr nonnull %.7, ptr %.1, i64 %.2, ptr %.3, i64 %.4, ptr %.5) #4
  %.21 = load i64, ptr %.7, align 8
  ret i64 %.21
}

; Function Attrs: nofree norecurse nosync nounwind memory(argmem: readwrite)
define internal fastcc void @inside_places_of_slots(ptr noalias nonnull writeonly %retptr, ptr readonly %arg.slot, i64 %arg.n, ptr %arg.place, i64 %arg.slots, i64 %arg.count, ptr writeonly %arg.out_slot, ptr writeonly %arg.out_place) unnamed_addr #0 {
B0.endif:
  %.10791.not = icmp slt i64 %arg.n, 1
  br i1 %.10791.not, label %common.ret, label %B40

B40:                                              ; preds = %B0.endif, %B240
  %found.2.094 = phi i64 [ %found.3.1, %B240 ], [ 0, %B0.endif ]
  %.1138992 = phi i64 [ %.120, %B240 ], [ 0, %B0.endif ]
  %.120 = add nuw nsw i64 %.1138992, 1
  %0 = shl nuw i64 %.1138992, 1
  %scevgep = getelementptr i8, ptr %arg.slot, i64 %0
  %.147 = load i16, ptr %scevgep, align 2
  %.148 = zext i16 %.147 to i64
  %.154.not = icmp sgt i64 %arg.slots, %.148
  br i1 %.154.not, label %B112, label %common.ret

common.ret:                                       ; preds = %B240, %B140, %B40, %B0.endif
  %found.2.0.lcssa.sink = phi i64 [ 0, %B0.endif ], [ %found.3.1, %B240 ], [ -1, %B40 ], [ -1, %B140 ]
  store i64 %found.2.0.lcssa.sink, ptr %retptr, align 8
  ret void

B112:                                             ; preds = %B40
  %.182 = getelementptr i64, ptr %arg.place, i64 %.148
  %.183 = load i64, ptr %.182, align 8
  %.188 = icmp sgt i64 %.183, -1
  br i1 %.188, label %B140, label %B240

B140:                                             ; preds = %B112
  %.194 = icmp eq i64 %found.2.094, %arg.count
  br i1 %.194, label %common.ret, label %B158

B158:                                             ; preds = %B140
  %.222 = getelementptr i16, ptr %arg.out_slot, i64 %found.2.094
  store i16 %.147, ptr %.222, align 2
  %.227 = getelementptr i64, ptr %arg.out_place, i64 %found.2.094
  store i64 %.183, ptr %.227, align 8
  %.230 = add nuw nsw i64 %.183, 1
  %sunkaddr = shl nuw nsw i64 %.148, 3
  %sunkaddr1 = getelementptr i8, ptr %arg.place, i64 %sunkaddr
  store i64 %.230, ptr %sunkaddr1, align 8
  %.240 = add nsw i64 %found.2.094, 1
  br label %B240

B240:                                             ; preds = %B158, %B112
  %found.3.1 = phi i64 [ %.240, %B158 ], [ %found.2.094, %B112 ]
  %exitcond.not = icmp eq i64 %arg.n, %.120
  br i1 %exitcond.not, label %common.ret, label %B40
}

; Function Attrs: nofree norecurse nosync nounwind memory(argmem: readwrite)
define i64 @places_of_slots(ptr readonly %.1, i64 %.2, ptr %.3, i64 %.4, i64 %.5, ptr writeonly %.6, ptr writeonly %.7) local_unnamed_addr #0 {
entry:
  %.9 = alloca i64, align 8
  store i64 0, ptr %.9, align 8
  call fastcc void @inside_places_of_slots(ptr nonnull %.9, ptr %.1, i64 %.2, ptr %.3, i64 %.4, i64 %.5, ptr %.6, ptr %.7) #4
  %.23 = load i64, ptr %.9, align 8
  ret i64 %.23
}

; Function Attrs: nofree norecurse nosync nounwind memory(argmem: readwrite)
define internal fastcc void @inside_isotp(ptr noalias nonnull writeonly %retptr, ptr readonly %arg.data, ptr readonly %arg.length, ptr readonly %arg.offset, ptr readonly %arg.stream, i64 %arg.n, i64 %arg.streams, i64 %arg.most, ptr %arg.known, ptr %arg.first, ptr %arg.missing, ptr %arg.full, ptr %arg.number, ptr %arg.filled, ptr %arg.held, i64 %arg.held_bytes, ptr writeonly %arg.out_first, ptr writeonly %arg.out_last, ptr writeonly %arg.out_start, ptr writeonly %arg.out_size, ptr writeonly %arg.blob, i64 %arg.blob_bytes) unnamed_addr #0 {
B0.endif:
  %.157461.not = icmp slt i64 %arg.n, 1
  br i1 %.157461.not, label %B1890.endif, label %B50

B50:                                              ; preds = %B0.endif, %B1957
  %s.4.0467 = phi i64 [ %s.5.2, %B1957 ], [ 0, %B0.endif ]
  %used.3.0466 = phi i64 [ %used.4.1, %B1957 ], [ 0, %B0.endif ]
  %found.3.0465 = phi i64 [ %found.4.1, %B1957 ], [ 0, %B0.endif ]
  %most.2.0464 = phi i64 [ %most.3.2, %B1957 ], [ %arg.most, %B0.endif ]
  %.163454462 = phi i64 [ %.170, %B1957 ], [ 0, %B0.endif ]
  %.170 = add nuw nsw i64 %.163454462, 1
  %.200 = getelementptr i64, ptr %arg.stream, i64 %.163454462
  %.201 = load i64, ptr %.200, align 8
  %.207.not = icmp slt i64 %s.4.0467, %most.2.0464
  br i1 %.207.not, label %B80, label %B104

B80:                                              ; preds = %B50
  %.219 = getelementptr i64, ptr %arg.known, i64 %s.4.0467
  %.220 = load i64, ptr %.219, align 8
  %.224.not = icmp eq i64 %.220, %.201
  br i1 %.224.not, label %B250, label %B104

B104:                                             ; preds = %B80, %B50
  %.241 = icmp sgt i64 %most.2.0464, 0
  br i1 %.241, label %B120, label %B190

B120:                                             ; preds = %B104
  %.253 = load i64, ptr %arg.known, align 8
  %.257.not = icmp eq i64 %.253, %.201
  br i1 %.257.not, label %B190, label %B144.preheader

B144.preheader:                                   ; preds = %B120
  %0 = add nsw i64 %most.2.0464, -1
  br label %B144

B144:                                             ; preds = %B166, %B144.preheader
  %s.7.3 = phi i64 [ %.263, %B166 ], [ 0, %B144.preheader ]
  %exitcond.not = icmp eq i64 %0, %s.7.3
  br i1 %exitcond.not, label %B202, label %B166

B166:                                             ; preds = %B144
  %.263 = add nuw nsw i64 %s.7.3, 1
  %sunkaddr = shl i64 %s.7.3, 3
  %sunkaddr10 = getelementptr i8, ptr %arg.known, i64 %sunkaddr
  %sunkaddr11 = getelementptr i8, ptr %sunkaddr10, i64 8
  %.285 = load i64, ptr %sunkaddr11, align 8
  %.289.not = icmp eq i64 %.285, %.201
  br i1 %.289.not, label %B190, label %B144

B190:                                             ; preds = %B166, %B120, %B104
  %s.6.2 = phi i64 [ 0, %B120 ], [ 0, %B104 ], [ %.263, %B166 ]
  %.310 = icmp eq i64 %s.6.2, %most.2.0464
  br i1 %.310, label %B202, label %B250

B202:                                             ; preds = %B144, %B190
  %.318 = icmp eq i64 %most.2.0464, %arg.streams
  br i1 %.318, label %common.ret, label %B220

common.ret:                                       ; preds = %B1856, %B1560, %B1356, %B1320, %B1228, %B1034, %B914, %B756, %B732, %B416, %B250, %B202, %B1922, %B1920
  %found.3.0.lcssa.sink = phi i64 [ -1, %B1922 ], [ %found.3.0.lcssa, %B1920 ], [ -1, %B202 ], [ -1, %B250 ], [ -1, %B416 ], [ -1, %B732 ], [ -1, %B756 ], [ -1, %B914 ], [ -1, %B1034 ], [ -1, %B1228 ], [ -1, %B1320 ], [ -1, %B1356 ], [ -1, %B1560 ], [ -1, %B1856 ]
  store i64 %found.3.0.lcssa.sink, ptr %retptr, align 8
  ret void

B220:                                             ; preds = %B202
  %.380 = getelementptr i64, ptr %arg.known, i64 %most.2.0464
  store i64 %.201, ptr %.380, align 8
  %.386 = getelementptr i64, ptr %arg.missing, i64 %most.2.0464
  store i64 0, ptr %.386, align 8
  %.391 = add nsw i64 %most.2.0464, 1
  br label %B250

B250:                                             ; preds = %B220, %B190, %B80
  %most.3.2 = phi i64 [ %.391, %B220 ], [ %most.2.0464, %B190 ], [ %most.2.0464, %B80 ]
  %s.5.2 = phi i64 [ %most.2.0464, %B220 ], [ %s.6.2, %B190 ], [ %s.4.0467, %B80 ]
  %.405 = getelementptr i8, ptr %arg.length, i64 %.163454462
  %.406 = load i8, ptr %.405, align 1
  %.407 = zext i8 %.406 to i64
  %.410 = getelementptr i8, ptr %arg.offset, i64 %.163454462
  %.411 = load i8, ptr %.410, align 1
  %.412 = zext i8 %.411 to i64
  %1 = xor i64 %.412, -1
  %.414 = add nsw i64 %1, %.407
  %2 = freeze i64 %.414
  %or.cond = icmp ugt i64 %2, 7
  %.429 = icmp ugt i8 %.411, 1
  %or.cond426 = or i1 %.429, %or.cond
  br i1 %or.cond426, label %common.ret, label %B416

B416:                                             ; preds = %B250
  %.487 = getelementptr i64, ptr %arg.data, i64 %.163454462
  %.488 = load i64, ptr %.487, align 8
  %.494 = shl nuw nsw i64 %.412, 3
  %.495 = lshr i64 %.488, %.494
  %.496 = and i64 %.495, 15
  %.500 = lshr i64 %.495, 4
  %.501 = and i64 %.500, 15
  %.505 = lshr i64 %.495, 8
  switch i64 %.501, label %common.ret [
    i64 0, label %B732
    i64 1, label %B914
    i64 2, label %B1228
    i64 3, label %B1856
  ]

B732:                                             ; preds = %B416
  %3 = add nsw i64 %.496, -1
  %or.cond427.not = icmp ult i64 %3, %2
  br i1 %or.cond427.not, label %B756, label %common.ret

B756:                                             ; preds = %B732
  %.525 = getelementptr i64, ptr %arg.missing, i64 %s.5.2
  %.526 = load i64, ptr %.525, align 8
  %.527 = icmp sgt i64 %.526, 0
  %.530 = add nsw i64 %used.3.0466, 8
  %.532 = icmp sgt i64 %.530, %arg.blob_bytes
  %or.cond428 = select i1 %.527, i1 true, i1 %.532
  br i1 %or.cond428, label %common.ret, label %B804

B804:                                             ; preds = %B756
  %.595 = getelementptr inbounds i8, ptr %arg.blob, i64 %used.3.0466
  store i64 %.505, ptr %.595, align 1
  %.603 = getelementptr i64, ptr %arg.out_first, i64 %found.3.0465
  store i64 %.163454462, ptr %.603, align 8
  %.608 = getelementptr i64, ptr %arg.out_last, i64 %found.3.0465
  store i64 %.163454462, ptr %.608, align 8
  %.615 = getelementptr i64, ptr %arg.out_start, i64 %found.3.0465
  store i64 %used.3.0466, ptr %.615, align 8
  %.620 = getelementptr i64, ptr %arg.out_size, i64 %found.3.0465
  store i64 %.496, ptr %.620, align 8
  %.624 = add nsw i64 %.496, %used.3.0466
  %.633 = add nsw i64 %found.3.0465, 1
  br label %B1957

B914:                                             ; preds = %B416
  %.646 = shl nuw nsw i64 %.496, 8
  %.650 = and i64 %.505, 255
  %.651 = or disjoint i64 %.646, %.650
  %.660 = icmp ult i8 %.406, 8
  %.664 = icmp samesign ule i64 %.651, %2
  %or.cond429 = select i1 %.660, i1 true, i1 %.664
  br i1 %or.cond429, label %common.ret, label %B1034

B1034:                                            ; preds = %B914
  %.668 = getelementptr i64, ptr %arg.missing, i64 %s.5.2
  %.669 = load i64, ptr %.668, align 8
  %.670 = icmp sgt i64 %.669, 0
  br i1 %.670, label %common.ret, label %B1064

B1064:                                            ; preds = %B1034
  %.742 = mul nsw i64 %s.5.2, %arg.held_bytes
  %.744 = lshr i64 %.495, 16
  %.748 = getelementptr inbounds i8, ptr %arg.held, i64 %.742
  store i64 %.744, ptr %.748, align 1
  %.754 = getelementptr i64, ptr %arg.first, i64 %s.5.2
  store i64 %.163454462, ptr %.754, align 8
  %.759 = add nsw i64 %2, -1
  %.762 = getelementptr i64, ptr %arg.filled, i64 %s.5.2
  store i64 %.759, ptr %.762, align 8
  %.769 = sub nsw i64 %.651, %.759
  %sunkaddr12 = shl i64 %s.5.2, 3
  %sunkaddr13 = getelementptr i8, ptr %arg.missing, i64 %sunkaddr12
  store i64 %.769, ptr %sunkaddr13, align 8
  %.779 = getelementptr i64, ptr %arg.full, i64 %s.5.2
  store i64 %2, ptr %.779, align 8
  %.785 = getelementptr i64, ptr %arg.number, i64 %s.5.2
  store i64 1, ptr %.785, align 8
  br label %B1957

B1228:                                            ; preds = %B416
  %.795 = getelementptr i64, ptr %arg.full, i64 %s.5.2
  %.796 = load i64, ptr %.795, align 8
  %.799 = getelementptr i64, ptr %arg.missing, i64 %s.5.2
  %.800 = load i64, ptr %.799, align 8
  %spec.select = tail call i64 @llvm.smin.i64(i64 %.796, i64 %.800)
  %.828 = icmp slt i64 %.800, 1
  br i1 %.828, label %common.ret, label %B1320

B1320:                                            ; preds = %B1228
  %.832 = getelementptr i64, ptr %arg.number, i64 %s.5.2
  %.833 = load i64, ptr %.832, align 8
  %.835 = icmp ne i64 %.496, %.833
  %.839 = icmp slt i64 %2, %spec.select
  %or.cond430 = select i1 %.835, i1 true, i1 %.839
  br i1 %or.cond430, label %common.ret, label %B1356

B1356:                                            ; preds = %B1320
  %.845 = getelementptr i64, ptr %arg.filled, i64 %s.5.2
  %.846 = load i64, ptr %.845, align 8
  %.847 = add nsw i64 %.846, 8
  %.849 = icmp sgt i64 %.847, %arg.held_bytes
  br i1 %.849, label %common.ret, label %B1392

B1392:                                            ; preds = %B1356
  %.921 = mul nsw i64 %s.5.2, %arg.held_bytes
  %4 = getelementptr i8, ptr %arg.held, i64 %.921
  %.929 = getelementptr i8, ptr %4, i64 %.846
  store i64 %.505, ptr %.929, align 1
  %sunkaddr14 = shl i64 %s.5.2, 3
  %sunkaddr15 = getelementptr i8, ptr %arg.filled, i64 %sunkaddr14
  %.937 = load i64, ptr %sunkaddr15, align 8
  %.939 = add nsw i64 %.937, %spec.select
  store i64 %.939, ptr %sunkaddr15, align 8
  %sunkaddr17 = getelementptr i8, ptr %arg.missing, i64 %sunkaddr14
  %.947 = load i64, ptr %sunkaddr17, align 8
  %.949 = sub nsw i64 %.947, %spec.select
  store i64 %.949, ptr %sunkaddr17, align 8
  %.957 = add i64 %.495, 1
  %.960 = and i64 %.957, 15
  %sunkaddr19 = getelementptr i8, ptr %arg.number, i64 %sunkaddr14
  store i64 %.960, ptr %sunkaddr19, align 8
  %.968 = load i64, ptr %sunkaddr17, align 8
  %.969 = icmp eq i64 %.968, 0
  br i1 %.969, label %B1560, label %B1957

B1560:                                            ; preds = %B1392
  %.978 = load i64, ptr %sunkaddr15, align 8
  %.980 = add i64 %used.3.0466, 8
  %.981 = add i64 %.980, %.978
  %.983 = icmp sgt i64 %.981, %arg.blob_bytes
  br i1 %.983, label %common.ret, label %B1602

B1602:                                            ; preds = %B1560
  %.1044 = icmp sgt i64 %.978, 0
  br i1 %.1044, label %B1630.preheader, label %B1744

B1630.preheader:                                  ; preds = %B1602
  %5 = getelementptr i8, ptr %arg.blob, i64 %used.3.0466
  br label %B1630

B1630:                                            ; preds = %B1630, %B1630.preheader
  %at.2.3 = phi i64 [ %.1063, %B1630 ], [ 0, %B1630.preheader ]
  %.1055 = getelementptr i8, ptr %4, i64 %at.2.3
  %.1057 = load i64, ptr %.1055, align 1
  %.1059 = getelementptr i8, ptr %5, i64 %at.2.3
  store i64 %.1057, ptr %.1059, align 1
  %.1063 = add nuw nsw i64 %at.2.3, 8
  %.1069 = load i64, ptr %sunkaddr15, align 8
  %.1070 = icmp slt i64 %.1063, %.1069
  br i1 %.1070, label %B1630, label %B1744

B1744:                                            ; preds = %B1630, %B1602
  %.1076 = getelementptr i64, ptr %arg.first, i64 %s.5.2
  %.1077 = load i64, ptr %.1076, align 8
  %.1080 = getelementptr i64, ptr %arg.out_first, i64 %found.3.0465
  store i64 %.1077, ptr %.1080, align 8
  %.1085 = getelementptr i64, ptr %arg.out_last, i64 %found.3.0465
  store i64 %.163454462, ptr %.1085, align 8
  %.1092 = getelementptr i64, ptr %arg.out_start, i64 %found.3.0465
  store i64 %used.3.0466, ptr %.1092, align 8
  %.1097 = load i64, ptr %sunkaddr15, align 8
  %.1100 = getelementptr i64, ptr %arg.out_size, i64 %found.3.0465
  store i64 %.1097, ptr %.1100, align 8
  %.1107 = add nsw i64 %.1097, %used.3.0466
  %.1113 = add nsw i64 %found.3.0465, 1
  br label %B1957

B1856:                                            ; preds = %B416
  %.1146 = icmp samesign ugt i64 %.496, 1
  %.1151 = icmp samesign ult i64 %2, 2
  %or.cond431 = select i1 %.1146, i1 true, i1 %.1151
  br i1 %or.cond431, label %common.ret, label %B1957

B1920:                                            ; preds = %B1890.endif, %B1922
  %.1352472 = phi i64 [ %.1359, %B1922 ], [ 0, %B1890.endif ]
  %exitcond480.not = icmp eq i64 %.most.2.0, %.1352472
  br i1 %exitcond480.not, label %common.ret, label %B1922

B1922:                                            ; preds = %B1920
  %.1359 = add nuw i64 %.1352472, 1
  %6 = shl i64 %.1352472, 3
  %scevgep = getelementptr i8, ptr %arg.missing, i64 %6
  %.1386 = load i64, ptr %scevgep, align 8
  %.1387 = icmp sgt i64 %.1386, 0
  br i1 %.1387, label %common.ret, label %B1920

B1957:                                            ; preds = %B1856, %B1744, %B1392, %B1064, %B804
  %used.4.1 = phi i64 [ %.624, %B804 ], [ %used.3.0466, %B1064 ], [ %used.3.0466, %B1392 ], [ %.1107, %B1744 ], [ %used.3.0466, %B1856 ]
  %found.4.1 = phi i64 [ %.633, %B804 ], [ %found.3.0465, %B1064 ], [ %found.3.0465, %B1392 ], [ %.1113, %B1744 ], [ %found.3.0465, %B1856 ]
  %exitcond479.not = icmp eq i64 %arg.n, %.170
  br i1 %exitcond479.not, label %B1890.endif, label %B50

B1890.endif:                                      ; preds = %B1957, %B0.endif
  %most.2.0.lcssa = phi i64 [ %arg.most, %B0.endif ], [ %most.3.2, %B1957 ]
  %found.3.0.lcssa = phi i64 [ 0, %B0.endif ], [ %found.4.1, %B1957 ]
  %.most.2.0 = tail call i64 @llvm.smax.i64(i64 %most.2.0.lcssa, i64 0)
  br label %B1920
}

; Function Attrs: mustprogress nocallback nofree nosync nounwind speculatable willreturn memory(none)
declare i64 @llvm.smin.i64(i64, i64) #1

; Function Attrs: nofree norecurse nosync nounwind memory(argmem: readwrite)
define i64 @isotp(ptr readonly %.1, ptr readonly %.2, ptr readonly %.3, ptr readonly %.4, i64 %.5, i64 %.6, i64 %.7, ptr %.8, ptr %.9, ptr %.10, ptr %.11, ptr %.12, ptr %.13, ptr %.14, i64 %.15, ptr writeonly %.16, ptr writeonly %.17, ptr writeonly %.18, ptr writeonly %.19, ptr writeonly %.20, i64 %.21) local_unnamed_addr #0 {
entry:
  %.23 = alloca i64, align 8
  store i64 0, ptr %.23, align 8
  call fastcc void @inside_isotp(ptr nonnull %.23, ptr %.1, ptr %.2, ptr %.3, ptr %.4, i64 %.5, i64 %.6, i64 %.7, ptr %.8, ptr %.9, ptr %.10, ptr %.11, ptr %.12, ptr %.13, ptr %.14, i64 %.15, ptr %.16, ptr %.17, ptr %.18, ptr %.19, ptr %.20, i64 %.21) #4
  %.37 = load i64, ptr %.23, align 8
  ret i64 %.37
}

; Function Attrs: nofree norecurse nosync nounwind memory(argmem: readwrite)
define internal fastcc void @inside_signals(ptr noalias nonnull writeonly %retptr, ptr readonly %arg.data, i64 %arg.n, i64 %arg.count, ptr readonly %arg.shift, ptr readonly %arg.length, ptr readonly %arg.big, ptr readonly %arg.signed, ptr readonly %arg.scale, ptr readonly %arg.offset, ptr writeonly %arg.out) unnamed_addr #0 {
B0:
  %.38 = icmp sgt i64 %arg.n, 0
  br i1 %.38, label %B20.preheader, label %B2868

B20.preheader:                                    ; preds = %B0
  %.137144.not = icmp slt i64 %arg.count, 1
  br i1 %.137144.not, label %B20, label %B20.us.preheader

B20.us.preheader:                                 ; preds = %B20.preheader
  %0 = add nuw i64 %arg.count, 2305843009213693951
  %1 = shl i64 %arg.n, 3
  %2 = mul i64 %1, %0
  %scevgep10 = getelementptr i8, ptr %arg.out, i64 %2
  %3 = shl i64 %arg.count, 3
  %scevgep14 = getelementptr i8, ptr %arg.big, i64 %3
  %scevgep15 = getelementptr i8, ptr %arg.signed, i64 %3
  %scevgep16 = getelementptr i8, ptr %arg.scale, i64 %3
  %scevgep17 = getelementptr i8, ptr %arg.offset, i64 %3
  %scevgep67 = getelementptr i8, ptr %arg.out, i64 192
  %4 = shl i64 %arg.n, 3
  %scevgep77 = getelementptr i8, ptr %arg.data, i64 192
  %5 = and i64 %arg.n, 1152921504606846976
  %6 = icmp ne i64 %5, 0
  br label %B20.us

B20.us:                                           ; preds = %B76.B2858_crit_edge.us, %B20.us.preheader
  %done.2.0.us = phi i64 [ %spec.select.us, %B76.B2858_crit_edge.us ], [ 0, %B20.us.preheader ]
  %.44.us = add nsw i64 %done.2.0.us, 2048
  %spec.select.us = tail call i64 @llvm.smin.i64(i64 %.44.us, i64 %arg.n)
  %.237.us = sub i64 %spec.select.us, %done.2.0.us
  %..237.us = tail call i64 @llvm.smax.i64(i64 %.237.us, i64 0)
  %.280134.us.not = icmp slt i64 %.237.us, 1
  br i1 %.280134.us.not, label %B76.B2858_crit_edge.us, label %B78.endif.us.us.preheader

B78.endif.us.us.preheader:                        ; preds = %B20.us
  %7 = shl i64 %done.2.0.us, 3
  %scevgep = getelementptr i8, ptr %arg.out, i64 %7
  %8 = add i64 %..237.us, %done.2.0.us
  %9 = shl i64 %8, 3
  %scevgep11 = getelementptr i8, ptr %scevgep10, i64 %9
  %scevgep12 = getelementptr i8, ptr %arg.data, i64 %7
  %scevgep13 = getelementptr i8, ptr %arg.data, i64 %9
  %bound0 = icmp ult ptr %scevgep, %scevgep13
  %bound1 = icmp ult ptr %scevgep12, %scevgep11
  %found.conflict = and i1 %bound0, %bound1
  %bound018 = icmp ult ptr %scevgep, %scevgep14
  %bound119 = icmp ult ptr %arg.big, %scevgep11
  %found.conflict20 = and i1 %bound018, %bound119
  %10 = or i1 %6, %found.conflict20
  %conflict.rdx = or i1 %found.conflict, %10
  %bound022 = icmp ult ptr %scevgep, %scevgep15
  %bound123 = icmp ult ptr %arg.signed, %scevgep11
  %found.conflict24 = and i1 %bound022, %bound123
  %conflict.rdx26 = or i1 %found.conflict24, %conflict.rdx
  %bound027 = icmp ult ptr %scevgep, %scevgep16
  %bound128 = icmp ult ptr %arg.scale, %scevgep11
  %found.conflict29 = and i1 %bound027, %bound128
  %conflict.rdx31 = or i1 %found.conflict29, %conflict.rdx26
  %bound032 = icmp ult ptr %scevgep, %scevgep17
  %bound133 = icmp ult ptr %arg.offset, %scevgep11
  %found.conflict34 = and i1 %bound032, %bound133
  %conflict.rdx36 = or i1 %found.conflict34, %conflict.rdx31
  %n.vec = and i64 %..237.us, 9223372036854775776
  %ind.end = and i64 %..237.us, 31
  %ind.end62 = add i64 %n.vec, %done.2.0.us
  %n.vec48 = and i64 %..237.us, 9223372036854775804
  %11 = and i64 %..237.us, 3
  %12 = add i64 %n.vec48, %done.2.0.us
  %scevgep68 = getelementptr i8, ptr %scevgep67, i64 %7
  %scevgep78 = getelementptr i8, ptr %scevgep77, i64 %7
  %13 = icmp slt i64 %.237.us, 4
  %brmerge = select i1 %13, i1 true, i1 %conflict.rdx36
  %14 = icmp slt i64 %.237.us, 32
  %15 = icmp eq i64 %.237.us, %n.vec
  %16 = and i64 %..237.us, 28
  %17 = icmp eq i64 %16, 0
  %18 = icmp eq i64 %.237.us, %n.vec48
  br label %iter.check

B76.B2858_crit_edge.us:                           ; preds = %B212.B76.loopexit_crit_edge.us.us, %B20.us
  %.483.us = icmp slt i64 %.44.us, %arg.n
  br i1 %.483.us, label %B20.us, label %B2868

iter.check:                                       ; preds = %B212.B76.loopexit_crit_edge.us.us, %B78.endif.us.us.preheader
  %lsr.iv93 = phi ptr [ %arg.out, %B78.endif.us.us.preheader ], [ %scevgep94, %B212.B76.loopexit_crit_edge.us.us ]
  %lsr.iv87 = phi ptr [ %scevgep, %B78.endif.us.us.preheader ], [ %scevgep88, %B212.B76.loopexit_crit_edge.us.us ]
  %lsr.iv = phi ptr [ %scevgep68, %B78.endif.us.us.preheader ], [ %scevgep69, %B212.B76.loopexit_crit_edge.us.us ]
  %.143139145.us.us = phi i64 [ 0, %B78.endif.us.us.preheader ], [ %.150.us.us, %B212.B76.loopexit_crit_edge.us.us ]
  %.180.us.us = getelementptr i64, ptr %arg.length, i64 %.143139145.us.us
  %.181.us.us = load i64, ptr %.180.us.us, align 8
  %.182.us.us = sub nsw i64 64, %.181.us.us
  %.188.us.us = getelementptr i64, ptr %arg.shift, i64 %.143139145.us.us
  %.189.us.us = load i64, ptr %.188.us.us, align 8
  br i1 %brmerge, label %B214.us.us.preheader, label %vector.main.loop.iter.check

vector.main.loop.iter.check:                      ; preds = %iter.check
  br i1 %14, label %vec.epilog.ph, label %vector.ph

vector.ph:                                        ; preds = %vector.main.loop.iter.check
  %sunkaddr = shl i64 %.143139145.us.us, 3
  %sunkaddr99 = getelementptr i8, ptr %arg.offset, i64 %sunkaddr
  %19 = load double, ptr %sunkaddr99, align 8, !alias.scope !7
  %broadcast.splatinsert = insertelement <8 x double> poison, double %19, i64 0
  %broadcast.splat = shufflevector <8 x double> %broadcast.splatinsert, <8 x double> poison, <8 x i32> zeroinitializer
  %sunkaddr101 = getelementptr i8, ptr %arg.scale, i64 %sunkaddr
  %20 = load double, ptr %sunkaddr101, align 8, !alias.scope !10
  %broadcast.splatinsert45 = insertelement <8 x double> poison, double %20, i64 0
  %broadcast.splat46 = shufflevector <8 x double> %broadcast.splatinsert45, <8 x double> poison, <8 x i32> zeroinitializer
  %sunkaddr103 = getelementptr i8, ptr %arg.signed, i64 %sunkaddr
  %21 = load i64, ptr %sunkaddr103, align 8, !alias.scope !12
  %sunkaddr105 = getelementptr i8, ptr %arg.big, i64 %sunkaddr
  %22 = load i64, ptr %sunkaddr105, align 8, !alias.scope !14
  %broadcast.splatinsert38 = insertelement <8 x i64> poison, i64 %.182.us.us, i64 0
  %broadcast.splat39 = shufflevector <8 x i64> %broadcast.splatinsert38, <8 x i64> poison, <8 x i32> zeroinitializer
  %broadcast.splatinsert40 = insertelement <8 x i64> poison, i64 %.189.us.us, i64 0
  %broadcast.splat41 = shufflevector <8 x i64> %broadcast.splatinsert40, <8 x i64> poison, <8 x i32> zeroinitializer
  %23 = fcmp une double %19, 0.000000e+00
  %24 = icmp eq i64 %21, 0
  %25 = icmp eq i64 %22, 0
  br label %vector.body

vector.body:                                      ; preds = %vector.body, %vector.ph
  %index = phi i64 [ 0, %vector.ph ], [ %index.next, %vector.body ]
  %26 = shl i64 %index, 3
  %scevgep84 = getelementptr i8, ptr %scevgep78, i64 %26
  %scevgep85 = getelementptr i8, ptr %scevgep84, i64 -192
  %scevgep83 = getelementptr i8, ptr %scevgep84, i64 -128
  %scevgep81 = getelementptr i8, ptr %scevgep84, i64 -64
  %wide.load = load <8 x i64>, ptr %scevgep85, align 8, !alias.scope !16
  %wide.load42 = load <8 x i64>, ptr %scevgep83, align 8, !alias.scope !16
  %wide.load43 = load <8 x i64>, ptr %scevgep81, align 8, !alias.scope !16
  %wide.load44 = load <8 x i64>, ptr %scevgep84, align 8, !alias.scope !16
  %27 = tail call <8 x i64> @llvm.bswap.v8i64(<8 x i64> %wide.load)
  %28 = tail call <8 x i64> @llvm.bswap.v8i64(<8 x i64> %wide.load42)
  %29 = tail call <8 x i64> @llvm.bswap.v8i64(<8 x i64> %wide.load43)
  %30 = tail call <8 x i64> @llvm.bswap.v8i64(<8 x i64> %wide.load44)
  %31 = select i1 %25, <8 x i64> %wide.load, <8 x i64> %27
  %32 = select i1 %25, <8 x i64> %wide.load42, <8 x i64> %28
  %33 = select i1 %25, <8 x i64> %wide.load43, <8 x i64> %29
  %34 = select i1 %25, <8 x i64> %wide.load44, <8 x i64> %30
  %35 = lshr <8 x i64> %31, %broadcast.splat41
  %36 = lshr <8 x i64> %32, %broadcast.splat41
  %37 = lshr <8 x i64> %33, %broadcast.splat41
  %38 = lshr <8 x i64> %34, %broadcast.splat41
  %39 = shl <8 x i64> %35, %broadcast.splat39
  %40 = shl <8 x i64> %36, %broadcast.splat39
  %41 = shl <8 x i64> %37, %broadcast.splat39
  %42 = shl <8 x i64> %38, %broadcast.splat39
  %43 = ashr exact <8 x i64> %39, %broadcast.splat39
  %44 = ashr exact <8 x i64> %40, %broadcast.splat39
  %45 = ashr exact <8 x i64> %41, %broadcast.splat39
  %46 = ashr exact <8 x i64> %42, %broadcast.splat39
  %47 = sitofp <8 x i64> %43 to <8 x double>
  %48 = sitofp <8 x i64> %44 to <8 x double>
  %49 = sitofp <8 x i64> %45 to <8 x double>
  %50 = sitofp <8 x i64> %46 to <8 x double>
  %51 = lshr exact <8 x i64> %39, %broadcast.splat39
  %52 = lshr exact <8 x i64> %40, %broadcast.splat39
  %53 = lshr exact <8 x i64> %41, %broadcast.splat39
  %54 = lshr exact <8 x i64> %42, %broadcast.splat39
  %55 = uitofp <8 x i64> %51 to <8 x double>
  %56 = uitofp <8 x i64> %52 to <8 x double>
  %57 = uitofp <8 x i64> %53 to <8 x double>
  %58 = uitofp <8 x i64> %54 to <8 x double>
  %59 = select i1 %24, <8 x double> %55, <8 x double> %47
  %60 = select i1 %24, <8 x double> %56, <8 x double> %48
  %61 = select i1 %24, <8 x double> %57, <8 x double> %49
  %62 = select i1 %24, <8 x double> %58, <8 x double> %50
  %63 = fmul <8 x double> %broadcast.splat46, %59
  %64 = fmul <8 x double> %broadcast.splat46, %60
  %65 = fmul <8 x double> %broadcast.splat46, %61
  %66 = fmul <8 x double> %broadcast.splat46, %62
  %67 = fadd <8 x double> %broadcast.splat, %63
  %68 = fadd <8 x double> %broadcast.splat, %64
  %69 = fadd <8 x double> %broadcast.splat, %65
  %70 = fadd <8 x double> %broadcast.splat, %66
  %71 = select i1 %23, <8 x double> %67, <8 x double> %63
  %72 = select i1 %23, <8 x double> %68, <8 x double> %64
  %73 = select i1 %23, <8 x double> %69, <8 x double> %65
  %74 = select i1 %23, <8 x double> %70, <8 x double> %66
  %scevgep75 = getelementptr i8, ptr %lsr.iv, i64 %26
  %scevgep76 = getelementptr i8, ptr %scevgep75, i64 -192
  %scevgep74 = getelementptr i8, ptr %scevgep75, i64 -128
  %scevgep72 = getelementptr i8, ptr %scevgep75, i64 -64
  store <8 x double> %71, ptr %scevgep76, align 8, !alias.scope !18, !noalias !20
  store <8 x double> %72, ptr %scevgep74, align 8, !alias.scope !18, !noalias !20
  store <8 x double> %73, ptr %scevgep72, align 8, !alias.scope !18, !noalias !20
  store <8 x double> %74, ptr %scevgep75, align 8, !alias.scope !18, !noalias !20
  %index.next = add nuw i64 %index, 32
  %75 = icmp eq i64 %n.vec, %index.next
  br i1 %75, label %middle.block, label %vector.body, !llvm.loop !21

middle.block:                                     ; preds = %vector.body
  br i1 %15, label %B212.B76.loopexit_crit_edge.us.us, label %vec.epilog.iter.check

vec.epilog.iter.check:                            ; preds = %middle.block
  br i1 %17, label %B214.us.us.preheader, label %vec.epilog.ph, !prof !22

vec.epilog.ph:                                    ; preds = %vec.epilog.iter.check, %vector.main.loop.iter.check
  %vec.epilog.resume.val = phi i64 [ %n.vec, %vec.epilog.iter.check ], [ 0, %vector.main.loop.iter.check ]
  %sunkaddr106 = shl i64 %.143139145.us.us, 3
  %sunkaddr107 = getelementptr i8, ptr %arg.offset, i64 %sunkaddr106
  %76 = load double, ptr %sunkaddr107, align 8, !alias.scope !7
  %broadcast.splatinsert49 = insertelement <4 x double> poison, double %76, i64 0
  %broadcast.splat50 = shufflevector <4 x double> %broadcast.splatinsert49, <4 x double> poison, <4 x i32> zeroinitializer
  %sunkaddr109 = getelementptr i8, ptr %arg.scale, i64 %sunkaddr106
  %77 = load double, ptr %sunkaddr109, align 8, !alias.scope !10
  %broadcast.splatinsert57 = insertelement <4 x double> poison, double %77, i64 0
  %broadcast.splat58 = shufflevector <4 x double> %broadcast.splatinsert57, <4 x double> poison, <4 x i32> zeroinitializer
  %sunkaddr111 = getelementptr i8, ptr %arg.signed, i64 %sunkaddr106
  %78 = load i64, ptr %sunkaddr111, align 8, !alias.scope !12
  %sunkaddr113 = getelementptr i8, ptr %arg.big, i64 %sunkaddr106
  %79 = load i64, ptr %sunkaddr113, align 8, !alias.scope !14
  %broadcast.splatinsert51 = insertelement <4 x i64> poison, i64 %.182.us.us, i64 0
  %broadcast.splat52 = shufflevector <4 x i64> %broadcast.splatinsert51, <4 x i64> poison, <4 x i32> zeroinitializer
  %broadcast.splatinsert53 = insertelement <4 x i64> poison, i64 %.189.us.us, i64 0
  %broadcast.splat54 = shufflevector <4 x i64> %broadcast.splatinsert53, <4 x i64> poison, <4 x i32> zeroinitializer
  %80 = fcmp une double %76, 0.000000e+00
  %81 = icmp eq i64 %78, 0
  %82 = icmp eq i64 %79, 0
  br label %vec.epilog.vector.body

vec.epilog.vector.body:                           ; preds = %vec.epilog.vector.body, %vec.epilog.ph
  %index55 = phi i64 [ %vec.epilog.resume.val, %vec.epilog.ph ], [ %index.next59, %vec.epilog.vector.body ]
  %83 = shl i64 %index55, 3
  %scevgep91 = getelementptr i8, ptr %scevgep12, i64 %83
  %wide.load56 = load <4 x i64>, ptr %scevgep91, align 8, !alias.scope !16
  %84 = tail call <4 x i64> @llvm.bswap.v4i64(<4 x i64> %wide.load56)
  %85 = select i1 %82, <4 x i64> %wide.load56, <4 x i64> %84
  %86 = lshr <4 x i64> %85, %broadcast.splat54
  %87 = shl <4 x i64> %86, %broadcast.splat52
  %88 = ashr exact <4 x i64> %87, %broadcast.splat52
  %89 = sitofp <4 x i64> %88 to <4 x double>
  %90 = lshr exact <4 x i64> %87, %broadcast.splat52
  %91 = uitofp <4 x i64> %90 to <4 x double>
  %92 = select i1 %81, <4 x double> %91, <4 x double> %89
  %93 = fmul <4 x double> %broadcast.splat58, %92
  %94 = fadd <4 x double> %broadcast.splat50, %93
  %95 = select i1 %80, <4 x double> %94, <4 x double> %93
  %scevgep89 = getelementptr i8, ptr %lsr.iv87, i64 %83
  store <4 x double> %95, ptr %scevgep89, align 8, !alias.scope !18, !noalias !20
  %index.next59 = add nuw i64 %index55, 4
  %96 = icmp eq i64 %n.vec48, %index.next59
  br i1 %96, label %vec.epilog.middle.block, label %vec.epilog.vector.body, !llvm.loop !23

vec.epilog.middle.block:                          ; preds = %vec.epilog.vector.body
  br i1 %18, label %B212.B76.loopexit_crit_edge.us.us, label %B214.us.us.preheader

B214.us.us.preheader:                             ; preds = %vec.epilog.middle.block, %vec.epilog.iter.check, %iter.check
  %.279132136.us.us.ph = phi i64 [ %..237.us, %iter.check ], [ %11, %vec.epilog.middle.block ], [ %ind.end, %vec.epilog.iter.check ]
  %.286133135.us.us.ph = phi i64 [ %done.2.0.us, %iter.check ], [ %12, %vec.epilog.middle.block ], [ %ind.end62, %vec.epilog.iter.check ]
  %97 = add nuw i64 %.279132136.us.us.ph, 1
  %98 = shl i64 %.286133135.us.us.ph, 3
  %sunkaddr114 = shl i64 %.143139145.us.us, 3
  %sunkaddr115 = getelementptr i8, ptr %arg.big, i64 %sunkaddr114
  %sunkaddr117 = getelementptr i8, ptr %arg.signed, i64 %sunkaddr114
  %sunkaddr119 = getelementptr i8, ptr %arg.scale, i64 %sunkaddr114
  %sunkaddr121 = getelementptr i8, ptr %arg.offset, i64 %sunkaddr114
  br label %B214.us.us

B214.us.us:                                       ; preds = %B214.us.us, %B214.us.us.preheader
  %lsr.iv95 = phi i64 [ %98, %B214.us.us.preheader ], [ %lsr.iv.next96, %B214.us.us ]
  %lsr.iv92 = phi i64 [ %97, %B214.us.us.preheader ], [ %lsr.iv.next, %B214.us.us ]
  %scevgep98 = getelementptr i8, ptr %arg.data, i64 %lsr.iv95
  %.325.us.us = load i64, ptr %scevgep98, align 8
  %.329.us.us = load i64, ptr %sunkaddr115, align 8
  %.333.us.us = load i64, ptr %sunkaddr117, align 8
  %.337.us.us = load double, ptr %sunkaddr119, align 8
  %.341.us.us = load double, ptr %sunkaddr121, align 8
  %.366.not.us.us = icmp eq i64 %.329.us.us, 0
  %.369.us.us = tail call i64 @llvm.bswap.i64(i64 %.325.us.us)
  %spec.select130.us.us = select i1 %.366.not.us.us, i64 %.325.us.us, i64 %.369.us.us
  %.379.us.us = lshr i64 %spec.select130.us.us, %.189.us.us
  %.385.us.us = shl i64 %.379.us.us, %.182.us.us
  %.390.not.us.us = icmp eq i64 %.333.us.us, 0
  %.398.us.us = ashr exact i64 %.385.us.us, %.182.us.us
  %.401.us.us = sitofp i64 %.398.us.us to double
  %.408.us.us = lshr exact i64 %.385.us.us, %.182.us.us
  %.413.us.us = uitofp i64 %.408.us.us to double
  %physical_v11__vphi200_0.2.3.us.us = select i1 %.390.not.us.us, double %.413.us.us, double %.401.us.us
  %.421.us.us = fmul double %.337.us.us, %physical_v11__vphi200_0.2.3.us.us
  %.432.us.us = fcmp une double %.341.us.us, 0.000000e+00
  %.436.us.us = fadd double %.341.us.us, %.421.us.us
  %physical_v11_x_1.2.3.us.us = select i1 %.432.us.us, double %.436.us.us, double %.421.us.us
  %scevgep97 = getelementptr i8, ptr %lsr.iv93, i64 %lsr.iv95
  store double %physical_v11_x_1.2.3.us.us, ptr %scevgep97, align 8
  %lsr.iv.next = add i64 %lsr.iv92, -1
  %lsr.iv.next96 = add i64 %lsr.iv95, 8
  %.280.us.us = icmp sgt i64 %lsr.iv.next, 1
  br i1 %.280.us.us, label %B214.us.us, label %B212.B76.loopexit_crit_edge.us.us, !llvm.loop !24

B212.B76.loopexit_crit_edge.us.us:                ; preds = %B214.us.us, %vec.epilog.middle.block, %middle.block
  %.150.us.us = add nuw nsw i64 %.143139145.us.us, 1
  %scevgep69 = getelementptr i8, ptr %lsr.iv, i64 %4
  %scevgep88 = getelementptr i8, ptr %lsr.iv87, i64 %4
  %scevgep94 = getelementptr i8, ptr %lsr.iv93, i64 %4
  %exitcond.not = icmp eq i64 %arg.count, %.150.us.us
  br i1 %exitcond.not, label %B76.B2858_crit_edge.us, label %iter.check

B20:                                              ; preds = %B20.preheader, %B20
  %done.2.0 = phi i64 [ %spec.select, %B20 ], [ 0, %B20.preheader ]
  %.44 = add nsw i64 %done.2.0, 2048
  %spec.select = tail call i64 @llvm.smin.i64(i64 %.44, i64 %arg.n)
  %.483 = icmp slt i64 %.44, %arg.n
  br i1 %.483, label %B20, label %B2868

B2868:                                            ; preds = %B76.B2858_crit_edge.us, %B20, %B0
  store i64 %arg.count, ptr %retptr, align 8
  ret void
}

; Function Attrs: mustprogress nocallback nofree nosync nounwind speculatable willreturn memory(none)
declare <8 x i64> @llvm.bswap.v8i64(<8 x i64>) #1

; Function Attrs: mustprogress nocallback nofree nosync nounwind speculatable willreturn memory(none)
declare <4 x i64> @llvm.bswap.v4i64(<4 x i64>) #1

; Function Attrs: nofree norecurse nosync nounwind memory(argmem: readwrite)
define i64 @signals(ptr readonly %.1, i64 %.2, i64 %.3, ptr readonly %.4, ptr readonly %.5, ptr readonly %.6, ptr readonly %.7, ptr readonly %.8, ptr readonly %.9, ptr writeonly %.10) local_unnamed_addr #0 {
entry:
  %.12 = alloca i64, align 8
  store i64 0, ptr %.12, align 8
  call fastcc void @inside_signals(ptr nonnull %.12, ptr %.1, i64 %.2, i64 %.3, ptr %.4, ptr %.5, ptr %.6, ptr %.7, ptr %.8, ptr %.9, ptr %.10) #4
  %.26 = load i64, ptr %.12, align 8
  ret i64 %.26
}

; Function Attrs: nofree norecurse nosync nounwind memory(argmem: readwrite)
define internal fastcc void @inside_extents(ptr noalias nonnull writeonly %retptr, ptr readonly %arg.data, i64 %arg.n, i64 %arg.count, ptr readonly %arg.shift, ptr readonly %arg.length, ptr readonly %arg.big, ptr readonly %arg.signed, ptr readonly %arg.scale, ptr readonly %arg.offset, ptr %arg.lowest, ptr %arg.highest, ptr writeonly %arg.below, ptr writeonly %arg.found, ptr %arg.few, ptr writeonly %arg.room) unnamed_addr #0 {
B0.endif:
  %.131297.not = icmp slt i64 %arg.count, 1
  br i1 %.131297.not, label %B3105, label %B38.lr.ph

B38.lr.ph:                                        ; preds = %B0.endif
  %.236 = icmp sgt i64 %arg.n, 0
  br i1 %.236, label %B38.us.preheader, label %iter.check

B38.us.preheader:                                 ; preds = %B38.lr.ph
  %scevgep198 = getelementptr i8, ptr %arg.data, i64 192
  %scevgep219 = getelementptr i8, ptr %arg.data, i64 24
  br label %B38.us

iter.check:                                       ; preds = %B38.lr.ph
  %min.iters.check = icmp ult i64 %arg.count, 8
  br i1 %min.iters.check, label %B38.preheader, label %vector.memcheck

vector.memcheck:                                  ; preds = %iter.check
  %0 = ptrtoint ptr %arg.highest to i64
  %1 = ptrtoint ptr %arg.lowest to i64
  %2 = ptrtoint ptr %arg.below to i64
  %3 = ptrtoint ptr %arg.found to i64
  %4 = sub i64 %0, %1
  %diff.check = icmp ult i64 %4, 256
  %5 = sub i64 %2, %1
  %diff.check9 = icmp ult i64 %5, 256
  %conflict.rdx = or i1 %diff.check, %diff.check9
  %6 = sub i64 %3, %1
  %diff.check11 = icmp ult i64 %6, 256
  %conflict.rdx12 = or i1 %conflict.rdx, %diff.check11
  %7 = sub i64 %2, %0
  %diff.check13 = icmp ult i64 %7, 256
  %conflict.rdx14 = or i1 %diff.check13, %conflict.rdx12
  %8 = sub i64 %3, %0
  %diff.check15 = icmp ult i64 %8, 256
  %conflict.rdx16 = or i1 %diff.check15, %conflict.rdx14
  %9 = sub i64 %3, %2
  %diff.check17 = icmp ult i64 %9, 256
  %conflict.rdx18 = or i1 %diff.check17, %conflict.rdx16
  br i1 %conflict.rdx18, label %B38.preheader, label %vector.main.loop.iter.check

vector.main.loop.iter.check:                      ; preds = %vector.memcheck
  %min.iters.check19 = icmp ult i64 %arg.count, 32
  br i1 %min.iters.check19, label %vec.epilog.ph, label %vector.ph

vector.ph:                                        ; preds = %vector.main.loop.iter.check
  %n.vec = and i64 %arg.count, 9223372036854775776
  br label %vector.body

vector.body:                                      ; preds = %vector.body, %vector.ph
  %index = phi i64 [ 0, %vector.ph ], [ %index.next, %vector.body ]
  %sunkaddr = shl i64 %index, 3
  %sunkaddr389 = getelementptr i8, ptr %arg.lowest, i64 %sunkaddr
  store <8 x double> splat (double 0x7FF0000000000000), ptr %sunkaddr389, align 8
  %sunkaddr392 = getelementptr i8, ptr %sunkaddr389, i64 64
  store <8 x double> splat (double 0x7FF0000000000000), ptr %sunkaddr392, align 8
  %sunkaddr395 = getelementptr i8, ptr %sunkaddr389, i64 128
  store <8 x double> splat (double 0x7FF0000000000000), ptr %sunkaddr395, align 8
  %sunkaddr398 = getelementptr i8, ptr %sunkaddr389, i64 192
  store <8 x double> splat (double 0x7FF0000000000000), ptr %sunkaddr398, align 8
  %sunkaddr400 = getelementptr i8, ptr %arg.highest, i64 %sunkaddr
  store <8 x double> splat (double 0xFFF0000000000000), ptr %sunkaddr400, align 8
  %sunkaddr403 = getelementptr i8, ptr %sunkaddr400, i64 64
  store <8 x double> splat (double 0xFFF0000000000000), ptr %sunkaddr403, align 8
  %sunkaddr406 = getelementptr i8, ptr %sunkaddr400, i64 128
  store <8 x double> splat (double 0xFFF0000000000000), ptr %sunkaddr406, align 8
  %sunkaddr409 = getelementptr i8, ptr %sunkaddr400, i64 192
  store <8 x double> splat (double 0xFFF0000000000000), ptr %sunkaddr409, align 8
  %sunkaddr411 = getelementptr i8, ptr %arg.below, i64 %sunkaddr
  %sunkaddr422 = getelementptr i8, ptr %arg.found, i64 %sunkaddr
  tail call void @llvm.memset.p0.i64(ptr noundef nonnull align 8 dereferenceable(256) %sunkaddr411, i8 0, i64 256, i1 false)
  %index.next = add nuw nsw i64 %index, 32
  %10 = icmp eq i64 %n.vec, %index.next
  tail call void @llvm.memset.p0.i64(ptr noundef nonnull align 8 dereferenceable(256) %sunkaddr422, i8 0, i64 256, i1 false)
  br i1 %10, label %middle.block, label %vector.body, !llvm.loop !25

middle.block:                                     ; preds = %vector.body
  %cmp.n = icmp eq i64 %arg.count, %n.vec
  br i1 %cmp.n, label %B3105, label %vec.epilog.iter.check

vec.epilog.iter.check:                            ; preds = %middle.block
  %11 = and i64 %arg.count, 24
  %min.epilog.iters.check = icmp eq i64 %11, 0
  br i1 %min.epilog.iters.check, label %B38.preheader, label %vec.epilog.ph, !prof !26

vec.epilog.ph:                                    ; preds = %vec.epilog.iter.check, %vector.main.loop.iter.check
  %vec.epilog.resume.val = phi i64 [ %n.vec, %vec.epilog.iter.check ], [ 0, %vector.main.loop.iter.check ]
  %n.vec21 = and i64 %arg.count, 9223372036854775800
  br label %vec.epilog.vector.body

vec.epilog.vector.body:                           ; preds = %vec.epilog.vector.body, %vec.epilog.ph
  %index22 = phi i64 [ %vec.epilog.resume.val, %vec.epilog.ph ], [ %index.next23, %vec.epilog.vector.body ]
  %12 = shl i64 %index22, 3
  %scevgep328 = getelementptr i8, ptr %arg.lowest, i64 %12
  %scevgep327 = getelementptr i8, ptr %arg.highest, i64 %12
  store <8 x double> splat (double 0x7FF0000000000000), ptr %scevgep328, align 8
  store <8 x double> splat (double 0xFFF0000000000000), ptr %scevgep327, align 8
  %scevgep326 = getelementptr i8, ptr %arg.below, i64 %12
  store <8 x i64> zeroinitializer, ptr %scevgep326, align 8
  %scevgep325 = getelementptr i8, ptr %arg.found, i64 %12
  store <8 x i64> zeroinitializer, ptr %scevgep325, align 8
  %index.next23 = add nuw i64 %index22, 8
  %13 = icmp eq i64 %n.vec21, %index.next23
  br i1 %13, label %vec.epilog.middle.block, label %vec.epilog.vector.body, !llvm.loop !27

vec.epilog.middle.block:                          ; preds = %vec.epilog.vector.body
  %cmp.n24 = icmp eq i64 %arg.count, %n.vec21
  br i1 %cmp.n24, label %B3105, label %B38.preheader

B38.preheader:                                    ; preds = %vec.epilog.middle.block, %vec.epilog.iter.check, %vector.memcheck, %iter.check
  %.137284304.ph = phi i64 [ 0, %iter.check ], [ 0, %vector.memcheck ], [ %n.vec, %vec.epilog.iter.check ], [ %n.vec21, %vec.epilog.middle.block ]
  %xtraiter = and i64 %arg.count, 7
  %lcmp.mod.not = icmp eq i64 %xtraiter, 0
  br i1 %lcmp.mod.not, label %B38.prol.loopexit, label %B38.prol

B38.prol:                                         ; preds = %B38.preheader, %B38.prol
  %lsr.iv323 = phi i64 [ %lsr.iv.next324, %B38.prol ], [ %xtraiter, %B38.preheader ]
  %.137284304.prol = phi i64 [ %.144.prol, %B38.prol ], [ %.137284304.ph, %B38.preheader ]
  %.144.prol = add nuw nsw i64 %.137284304.prol, 1
  %14 = shl i64 %.137284304.prol, 3
  %scevgep322 = getelementptr i8, ptr %arg.lowest, i64 %14
  %scevgep321 = getelementptr i8, ptr %arg.highest, i64 %14
  store double 0x7FF0000000000000, ptr %scevgep322, align 8
  store double 0xFFF0000000000000, ptr %scevgep321, align 8
  %scevgep320 = getelementptr i8, ptr %arg.below, i64 %14
  store i64 0, ptr %scevgep320, align 8
  %scevgep319 = getelementptr i8, ptr %arg.found, i64 %14
  store i64 0, ptr %scevgep319, align 8
  %lsr.iv.next324 = add nsw i64 %lsr.iv323, -1
  %prol.iter.cmp.not = icmp eq i64 %lsr.iv.next324, 0
  br i1 %prol.iter.cmp.not, label %B38.prol.loopexit, label %B38.prol, !llvm.loop !28

B38.prol.loopexit:                                ; preds = %B38.prol, %B38.preheader
  %.137284304.unr = phi i64 [ %.137284304.ph, %B38.preheader ], [ %.144.prol, %B38.prol ]
  %15 = sub nsw i64 %.137284304.ph, %arg.count
  %16 = icmp ugt i64 %15, -8
  br i1 %16, label %B3105, label %B38

B38.us:                                           ; preds = %B3095.loopexit.us, %B38.us.preheader
  %.137284304.us = phi i64 [ %.144.us, %B3095.loopexit.us ], [ 0, %B38.us.preheader ]
  %17 = shl i64 %.137284304.us, 3
  %scevgep85 = getelementptr i8, ptr %arg.big, i64 %17
  %18 = add i64 %17, 8
  %scevgep86 = getelementptr i8, ptr %arg.big, i64 %18
  %scevgep87 = getelementptr i8, ptr %arg.signed, i64 %17
  %scevgep88 = getelementptr i8, ptr %arg.signed, i64 %18
  %scevgep89 = getelementptr i8, ptr %arg.scale, i64 %17
  %scevgep90 = getelementptr i8, ptr %arg.scale, i64 %18
  %scevgep91 = getelementptr i8, ptr %arg.offset, i64 %17
  %scevgep92 = getelementptr i8, ptr %arg.offset, i64 %18
  %.186.us = getelementptr i64, ptr %arg.length, i64 %.137284304.us
  %.187.us = load i64, ptr %.186.us, align 8
  %.188.us = sub nsw i64 64, %.187.us
  %.194.us = getelementptr i64, ptr %arg.shift, i64 %.137284304.us
  %.195.us = load i64, ptr %.194.us, align 8
  %.201.us = getelementptr double, ptr %arg.lowest, i64 %.137284304.us
  %.202.us = load double, ptr %.201.us, align 8
  %.208.us = getelementptr double, ptr %arg.highest, i64 %.137284304.us
  %.209.us = load double, ptr %.208.us, align 8
  %.215.us = mul nuw nsw i64 %.137284304.us, %arg.n
  %broadcast.splatinsert119 = insertelement <8 x i64> poison, i64 %.195.us, i64 0
  %broadcast.splat120 = shufflevector <8 x i64> %broadcast.splatinsert119, <8 x i64> poison, <8 x i32> zeroinitializer
  %broadcast.splatinsert121 = insertelement <8 x i64> poison, i64 %.188.us, i64 0
  %broadcast.splat122 = shufflevector <8 x i64> %broadcast.splatinsert121, <8 x i64> poison, <8 x i32> zeroinitializer
  %broadcast.splatinsert143 = insertelement <4 x i64> poison, i64 %.195.us, i64 0
  %broadcast.splat144 = shufflevector <4 x i64> %broadcast.splatinsert143, <4 x i64> poison, <4 x i32> zeroinitializer
  %broadcast.splatinsert145 = insertelement <4 x i64> poison, i64 %.188.us, i64 0
  %broadcast.splat146 = shufflevector <4 x i64> %broadcast.splatinsert145, <4 x i64> poison, <4 x i32> zeroinitializer
  %19 = icmp ult ptr %arg.few, %scevgep92
  %20 = icmp ult ptr %arg.few, %scevgep90
  %21 = icmp ult ptr %arg.few, %scevgep88
  %22 = icmp ult ptr %arg.few, %scevgep86
  br label %B246.us

B246.us:                                          ; preds = %B3071.us, %B38.us
  %least.3.1.us = phi double [ %least.2.3.lcssa.us328, %B3071.us ], [ 0x7FF0000000000000, %B38.us ]
  %least_negative.3.1.us = phi double [ %least_negative.2.3.lcssa.us329, %B3071.us ], [ 0x7FF0000000000000, %B38.us ]
  %n_found.3.1.us = phi i64 [ %n_found.2.3.lcssa.us, %B3071.us ], [ %.215.us, %B38.us ]
  %less.3.1.us = phi i64 [ %less.2.3.lcssa.us, %B3071.us ], [ 0, %B38.us ]
  %done.2.1.us = phi i64 [ %.873.us, %B3071.us ], [ 0, %B38.us ]
  %.251.us = sub nsw i64 %arg.n, %done.2.1.us
  %spec.select.us = tail call i64 @llvm.smin.i64(i64 %.251.us, i64 2048)
  %.340251.us.not = icmp slt i64 %.251.us, 1
  br i1 %.340251.us.not, label %B3071.us, label %iter.check111

B3071.us.loopexit.unr-lcssa:                      ; preds = %B3027.us
  %lcmp.mod172.not = icmp eq i64 %xtraiter171, 0
  br i1 %lcmp.mod172.not, label %B3071.us, label %B3027.us.epil.preheader

B3027.us.epil.preheader:                          ; preds = %B3027.us.preheader, %B3071.us.loopexit.unr-lcssa
  %less.2.3272.us.epil.init = phi i64 [ %less.3.1.us, %B3027.us.preheader ], [ %.831.us.7, %B3071.us.loopexit.unr-lcssa ]
  %n_found.2.3271.us.epil.init = phi i64 [ %n_found.3.1.us, %B3027.us.preheader ], [ %.823.us.7, %B3071.us.loopexit.unr-lcssa ]
  %.774267269.us.epil.init = phi i64 [ 0, %B3027.us.preheader ], [ %.781.us.7, %B3071.us.loopexit.unr-lcssa ]
  %23 = shl nuw nsw i64 %.774267269.us.epil.init, 3
  %scevgep253 = getelementptr i8, ptr %arg.few, i64 %23
  br label %B3027.us.epil

B3027.us.epil:                                    ; preds = %B3027.us.epil, %B3027.us.epil.preheader
  %less.2.3272.us.epil = phi i64 [ %.831.us.epil, %B3027.us.epil ], [ %less.2.3272.us.epil.init, %B3027.us.epil.preheader ]
  %n_found.2.3271.us.epil = phi i64 [ %.823.us.epil, %B3027.us.epil ], [ %n_found.2.3271.us.epil.init, %B3027.us.epil.preheader ]
  %epil.iter = phi i64 [ %epil.iter.next, %B3027.us.epil ], [ 0, %B3027.us.epil.preheader ]
  %24 = shl nuw nsw i64 %epil.iter, 3
  %scevgep254 = getelementptr i8, ptr %scevgep253, i64 %24
  %.808.us.epil = load double, ptr %scevgep254, align 8
  %.811.us.epil = getelementptr double, ptr %arg.room, i64 %n_found.2.3271.us.epil
  store double %.808.us.epil, ptr %.811.us.epil, align 8
  %.814.us.epil = fcmp oge double %.808.us.epil, %.202.us
  %.818.us.epil = fcmp ole double %.808.us.epil, %.209.us
  %.821246.us.epil = and i1 %.814.us.epil, %.818.us.epil
  %.821.us.epil = zext i1 %.821246.us.epil to i64
  %.823.us.epil = add nsw i64 %n_found.2.3271.us.epil, %.821.us.epil
  %.827.us.epil = fcmp olt double %.808.us.epil, %.202.us
  %.829.us.epil = zext i1 %.827.us.epil to i64
  %.831.us.epil = add nsw i64 %less.2.3272.us.epil, %.829.us.epil
  %epil.iter.next = add i64 %epil.iter, 1
  %epil.iter.cmp.not = icmp eq i64 %xtraiter171, %epil.iter.next
  br i1 %epil.iter.cmp.not, label %B3071.us, label %B3027.us.epil, !llvm.loop !29

B3071.us:                                         ; preds = %B3027.us.epil, %B3071.us.loopexit.unr-lcssa, %B246.us
  %least_negative.2.3.lcssa.us329 = phi double [ %least_negative.3.1.us, %B246.us ], [ %.668.us.lcssa, %B3071.us.loopexit.unr-lcssa ], [ %.668.us.lcssa, %B3027.us.epil ]
  %least.2.3.lcssa.us328 = phi double [ %least.3.1.us, %B246.us ], [ %.659.us.lcssa, %B3071.us.loopexit.unr-lcssa ], [ %.659.us.lcssa, %B3027.us.epil ]
  %n_found.2.3.lcssa.us = phi i64 [ %n_found.3.1.us, %B246.us ], [ %.823.us.7, %B3071.us.loopexit.unr-lcssa ], [ %.823.us.epil, %B3027.us.epil ]
  %less.2.3.lcssa.us = phi i64 [ %less.3.1.us, %B246.us ], [ %.831.us.7, %B3071.us.loopexit.unr-lcssa ], [ %.831.us.epil, %B3027.us.epil ]
  %.873.us = add nsw i64 %spec.select.us, %done.2.1.us
  %.879.us = icmp slt i64 %.873.us, %arg.n
  br i1 %.879.us, label %B246.us, label %B3095.loopexit.us

B3027.us:                                         ; preds = %B3027.us.preheader.new, %B3027.us
  %less.2.3272.us = phi i64 [ %less.3.1.us, %B3027.us.preheader.new ], [ %.831.us.7, %B3027.us ]
  %n_found.2.3271.us = phi i64 [ %n_found.3.1.us, %B3027.us.preheader.new ], [ %.823.us.7, %B3027.us ]
  %.774267269.us = phi i64 [ 0, %B3027.us.preheader.new ], [ %.781.us.7, %B3027.us ]
  %sunkaddr433 = shl i64 %.774267269.us, 3
  %sunkaddr434 = getelementptr i8, ptr %arg.few, i64 %sunkaddr433
  %.808.us = load double, ptr %sunkaddr434, align 8
  %.811.us = getelementptr double, ptr %arg.room, i64 %n_found.2.3271.us
  store double %.808.us, ptr %.811.us, align 8
  %.814.us = fcmp oge double %.808.us, %.202.us
  %.818.us = fcmp ole double %.808.us, %.209.us
  %.821246.us = and i1 %.814.us, %.818.us
  %.821.us = zext i1 %.821246.us to i64
  %.823.us = add nsw i64 %n_found.2.3271.us, %.821.us
  %.827.us = fcmp olt double %.808.us, %.202.us
  %.829.us = zext i1 %.827.us to i64
  %.831.us = add nsw i64 %less.2.3272.us, %.829.us
  %sunkaddr438 = getelementptr i8, ptr %sunkaddr434, i64 8
  %.808.us.1 = load double, ptr %sunkaddr438, align 8
  %.811.us.1 = getelementptr double, ptr %arg.room, i64 %.823.us
  store double %.808.us.1, ptr %.811.us.1, align 8
  %.814.us.1 = fcmp oge double %.808.us.1, %.202.us
  %.818.us.1 = fcmp ole double %.808.us.1, %.209.us
  %.821246.us.1 = and i1 %.814.us.1, %.818.us.1
  %.821.us.1 = zext i1 %.821246.us.1 to i64
  %.823.us.1 = add nsw i64 %.823.us, %.821.us.1
  %.827.us.1 = fcmp olt double %.808.us.1, %.202.us
  %.829.us.1 = zext i1 %.827.us.1 to i64
  %.831.us.1 = add nsw i64 %.831.us, %.829.us.1
  %sunkaddr442 = getelementptr i8, ptr %sunkaddr434, i64 16
  %.808.us.2 = load double, ptr %sunkaddr442, align 8
  %.811.us.2 = getelementptr double, ptr %arg.room, i64 %.823.us.1
  store double %.808.us.2, ptr %.811.us.2, align 8
  %.814.us.2 = fcmp oge double %.808.us.2, %.202.us
  %.818.us.2 = fcmp ole double %.808.us.2, %.209.us
  %.821246.us.2 = and i1 %.814.us.2, %.818.us.2
  %.821.us.2 = zext i1 %.821246.us.2 to i64
  %.823.us.2 = add nsw i64 %.823.us.1, %.821.us.2
  %.827.us.2 = fcmp olt double %.808.us.2, %.202.us
  %.829.us.2 = zext i1 %.827.us.2 to i64
  %.831.us.2 = add nsw i64 %.831.us.1, %.829.us.2
  %sunkaddr446 = getelementptr i8, ptr %sunkaddr434, i64 24
  %.808.us.3 = load double, ptr %sunkaddr446, align 8
  %.811.us.3 = getelementptr double, ptr %arg.room, i64 %.823.us.2
  store double %.808.us.3, ptr %.811.us.3, align 8
  %.814.us.3 = fcmp oge double %.808.us.3, %.202.us
  %.818.us.3 = fcmp ole double %.808.us.3, %.209.us
  %.821246.us.3 = and i1 %.814.us.3, %.818.us.3
  %.821.us.3 = zext i1 %.821246.us.3 to i64
  %.823.us.3 = add nsw i64 %.823.us.2, %.821.us.3
  %.827.us.3 = fcmp olt double %.808.us.3, %.202.us
  %.829.us.3 = zext i1 %.827.us.3 to i64
  %.831.us.3 = add nsw i64 %.831.us.2, %.829.us.3
  %sunkaddr450 = getelementptr i8, ptr %sunkaddr434, i64 32
  %.808.us.4 = load double, ptr %sunkaddr450, align 8
  %.811.us.4 = getelementptr double, ptr %arg.room, i64 %.823.us.3
  store double %.808.us.4, ptr %.811.us.4, align 8
  %.814.us.4 = fcmp oge double %.808.us.4, %.202.us
  %.818.us.4 = fcmp ole double %.808.us.4, %.209.us
  %.821246.us.4 = and i1 %.814.us.4, %.818.us.4
  %.821.us.4 = zext i1 %.821246.us.4 to i64
  %.823.us.4 = add nsw i64 %.823.us.3, %.821.us.4
  %.827.us.4 = fcmp olt double %.808.us.4, %.202.us
  %.829.us.4 = zext i1 %.827.us.4 to i64
  %.831.us.4 = add nsw i64 %.831.us.3, %.829.us.4
  %sunkaddr454 = getelementptr i8, ptr %sunkaddr434, i64 40
  %.808.us.5 = load double, ptr %sunkaddr454, align 8
  %.811.us.5 = getelementptr double, ptr %arg.room, i64 %.823.us.4
  store double %.808.us.5, ptr %.811.us.5, align 8
  %.814.us.5 = fcmp oge double %.808.us.5, %.202.us
  %.818.us.5 = fcmp ole double %.808.us.5, %.209.us
  %.821246.us.5 = and i1 %.814.us.5, %.818.us.5
  %.821.us.5 = zext i1 %.821246.us.5 to i64
  %.823.us.5 = add nsw i64 %.823.us.4, %.821.us.5
  %.827.us.5 = fcmp olt double %.808.us.5, %.202.us
  %.829.us.5 = zext i1 %.827.us.5 to i64
  %.831.us.5 = add nsw i64 %.831.us.4, %.829.us.5
  %sunkaddr458 = getelementptr i8, ptr %sunkaddr434, i64 48
  %.808.us.6 = load double, ptr %sunkaddr458, align 8
  %.811.us.6 = getelementptr double, ptr %arg.room, i64 %.823.us.5
  store double %.808.us.6, ptr %.811.us.6, align 8
  %.814.us.6 = fcmp oge double %.808.us.6, %.202.us
  %.818.us.6 = fcmp ole double %.808.us.6, %.209.us
  %.821246.us.6 = and i1 %.814.us.6, %.818.us.6
  %.821.us.6 = zext i1 %.821246.us.6 to i64
  %.823.us.6 = add nsw i64 %.823.us.5, %.821.us.6
  %.827.us.6 = fcmp olt double %.808.us.6, %.202.us
  %.829.us.6 = zext i1 %.827.us.6 to i64
  %.831.us.6 = add nsw i64 %.831.us.5, %.829.us.6
  %.781.us.7 = add nuw i64 %.774267269.us, 8
  %sunkaddr462 = getelementptr i8, ptr %sunkaddr434, i64 56
  %.808.us.7 = load double, ptr %sunkaddr462, align 8
  %.811.us.7 = getelementptr double, ptr %arg.room, i64 %.823.us.6
  store double %.808.us.7, ptr %.811.us.7, align 8
  %.814.us.7 = fcmp oge double %.808.us.7, %.202.us
  %.818.us.7 = fcmp ole double %.808.us.7, %.209.us
  %.821246.us.7 = and i1 %.814.us.7, %.818.us.7
  %.821.us.7 = zext i1 %.821246.us.7 to i64
  %.823.us.7 = add nsw i64 %.823.us.6, %.821.us.7
  %.827.us.7 = fcmp olt double %.808.us.7, %.202.us
  %.829.us.7 = zext i1 %.827.us.7 to i64
  %.831.us.7 = add nsw i64 %.831.us.6, %.829.us.7
  %niter.ncmp.7 = icmp eq i64 %unroll_iter, %.781.us.7
  br i1 %niter.ncmp.7, label %B3071.us.loopexit.unr-lcssa, label %B3027.us

B2887.us:                                         ; preds = %B2887.us.preheader, %B2887.us
  %least_negative.2.3261.us = phi double [ %.668.us, %B2887.us ], [ %least_negative.2.3261.us.ph, %B2887.us.preheader ]
  %least.2.3260.us = phi double [ %.659.us, %B2887.us ], [ %least.2.3260.us.ph, %B2887.us.preheader ]
  %.622256258.us = phi i64 [ %.629.us, %B2887.us ], [ %.622256258.us.ph, %B2887.us.preheader ]
  %.629.us = add nuw nsw i64 %.622256258.us, 1
  %25 = shl i64 %.622256258.us, 3
  %scevgep236 = getelementptr i8, ptr %arg.few, i64 %25
  %.656.us = load double, ptr %scevgep236, align 8
  %.659.us = tail call nnan nsz double @llvm.minnum.f64(double %.656.us, double %least.2.3260.us)
  %.665.us = fneg double %.656.us
  %.668.us = tail call nnan nsz double @llvm.minnum.f64(double %least_negative.2.3261.us, double %.665.us)
  %exitcond323.not = icmp eq i64 %spec.select.us, %.629.us
  br i1 %exitcond323.not, label %B3027.us.preheader, label %B2887.us, !llvm.loop !30

B3027.us.preheader:                               ; preds = %B2887.us, %vec.epilog.middle.block78, %middle.block48
  %.659.us.lcssa = phi double [ %50, %vec.epilog.middle.block78 ], [ %42, %middle.block48 ], [ %.659.us, %B2887.us ]
  %.668.us.lcssa = phi double [ %49, %vec.epilog.middle.block78 ], [ %41, %middle.block48 ], [ %.668.us, %B2887.us ]
  %xtraiter171 = and i64 %spec.select.us, 7
  %26 = icmp slt i64 %.251.us, 8
  br i1 %26, label %B3027.us.epil.preheader, label %B3027.us.preheader.new

B3027.us.preheader.new:                           ; preds = %B3027.us.preheader
  %unroll_iter = and i64 %spec.select.us, 4088
  br label %B3027.us

B304.us:                                          ; preds = %B304.us.preheader187, %B304.us
  %.346250252.us = phi i64 [ %.353.us.3, %B304.us ], [ %.346250252.us.unr, %B304.us.preheader187 ]
  %27 = shl i64 %.346250252.us, 3
  %scevgep224 = getelementptr i8, ptr %scevgep220, i64 %27
  %scevgep225 = getelementptr i8, ptr %scevgep224, i64 -24
  %.387.us = load i64, ptr %scevgep225, align 8
  %.391.us = load i64, ptr %scevgep85, align 8
  %.395.us = load i64, ptr %scevgep87, align 8
  %.399.us = load double, ptr %scevgep89, align 8
  %.403.us = load double, ptr %scevgep91, align 8
  %.428.not.us = icmp eq i64 %.391.us, 0
  %.431.us = tail call i64 @llvm.bswap.i64(i64 %.387.us)
  %spec.select242.us = select i1 %.428.not.us, i64 %.387.us, i64 %.431.us
  %.441.us = lshr i64 %spec.select242.us, %.195.us
  %.447.us = shl i64 %.441.us, %.188.us
  %.452.not.us = icmp eq i64 %.395.us, 0
  %.460.us = ashr exact i64 %.447.us, %.188.us
  %.463.us = sitofp i64 %.460.us to double
  %.470.us = lshr exact i64 %.447.us, %.188.us
  %.475.us = uitofp i64 %.470.us to double
  %physical_v13__vphi200_0.2.4.us = select i1 %.452.not.us, double %.475.us, double %.463.us
  %.483.us = fmul double %.399.us, %physical_v13__vphi200_0.2.4.us
  %.494.us = fcmp une double %.403.us, 0.000000e+00
  %.498.us = fadd double %.403.us, %.483.us
  %physical_v13_x_1.2.4.us = select i1 %.494.us, double %.498.us, double %.483.us
  %sunkaddr473 = getelementptr i8, ptr %arg.few, i64 %27
  store double %physical_v13_x_1.2.4.us, ptr %sunkaddr473, align 8
  %scevgep227 = getelementptr i8, ptr %scevgep224, i64 -16
  %.387.us.1 = load i64, ptr %scevgep227, align 8
  %.391.us.1 = load i64, ptr %scevgep85, align 8
  %.395.us.1 = load i64, ptr %scevgep87, align 8
  %.399.us.1 = load double, ptr %scevgep89, align 8
  %.403.us.1 = load double, ptr %scevgep91, align 8
  %.428.not.us.1 = icmp eq i64 %.391.us.1, 0
  %.431.us.1 = tail call i64 @llvm.bswap.i64(i64 %.387.us.1)
  %spec.select242.us.1 = select i1 %.428.not.us.1, i64 %.387.us.1, i64 %.431.us.1
  %.441.us.1 = lshr i64 %spec.select242.us.1, %.195.us
  %.447.us.1 = shl i64 %.441.us.1, %.188.us
  %.452.not.us.1 = icmp eq i64 %.395.us.1, 0
  %.460.us.1 = ashr exact i64 %.447.us.1, %.188.us
  %.463.us.1 = sitofp i64 %.460.us.1 to double
  %.470.us.1 = lshr exact i64 %.447.us.1, %.188.us
  %.475.us.1 = uitofp i64 %.470.us.1 to double
  %physical_v13__vphi200_0.2.4.us.1 = select i1 %.452.not.us.1, double %.475.us.1, double %.463.us.1
  %.483.us.1 = fmul double %.399.us.1, %physical_v13__vphi200_0.2.4.us.1
  %.494.us.1 = fcmp une double %.403.us.1, 0.000000e+00
  %.498.us.1 = fadd double %.403.us.1, %.483.us.1
  %physical_v13_x_1.2.4.us.1 = select i1 %.494.us.1, double %.498.us.1, double %.483.us.1
  %sunkaddr476 = getelementptr i8, ptr %sunkaddr473, i64 8
  store double %physical_v13_x_1.2.4.us.1, ptr %sunkaddr476, align 8
  %scevgep223 = getelementptr i8, ptr %scevgep224, i64 -8
  %.387.us.2 = load i64, ptr %scevgep223, align 8
  %.391.us.2 = load i64, ptr %scevgep85, align 8
  %.395.us.2 = load i64, ptr %scevgep87, align 8
  %.399.us.2 = load double, ptr %scevgep89, align 8
  %.403.us.2 = load double, ptr %scevgep91, align 8
  %.428.not.us.2 = icmp eq i64 %.391.us.2, 0
  %.431.us.2 = tail call i64 @llvm.bswap.i64(i64 %.387.us.2)
  %spec.select242.us.2 = select i1 %.428.not.us.2, i64 %.387.us.2, i64 %.431.us.2
  %.441.us.2 = lshr i64 %spec.select242.us.2, %.195.us
  %.447.us.2 = shl i64 %.441.us.2, %.188.us
  %.452.not.us.2 = icmp eq i64 %.395.us.2, 0
  %.460.us.2 = ashr exact i64 %.447.us.2, %.188.us
  %.463.us.2 = sitofp i64 %.460.us.2 to double
  %.470.us.2 = lshr exact i64 %.447.us.2, %.188.us
  %.475.us.2 = uitofp i64 %.470.us.2 to double
  %physical_v13__vphi200_0.2.4.us.2 = select i1 %.452.not.us.2, double %.475.us.2, double %.463.us.2
  %.483.us.2 = fmul double %.399.us.2, %physical_v13__vphi200_0.2.4.us.2
  %.494.us.2 = fcmp une double %.403.us.2, 0.000000e+00
  %.498.us.2 = fadd double %.403.us.2, %.483.us.2
  %physical_v13_x_1.2.4.us.2 = select i1 %.494.us.2, double %.498.us.2, double %.483.us.2
  %sunkaddr479 = getelementptr i8, ptr %sunkaddr473, i64 16
  store double %physical_v13_x_1.2.4.us.2, ptr %sunkaddr479, align 8
  %.353.us.3 = add nuw nsw i64 %.346250252.us, 4
  %.387.us.3 = load i64, ptr %scevgep224, align 8
  %.391.us.3 = load i64, ptr %scevgep85, align 8
  %.395.us.3 = load i64, ptr %scevgep87, align 8
  %.399.us.3 = load double, ptr %scevgep89, align 8
  %.403.us.3 = load double, ptr %scevgep91, align 8
  %.428.not.us.3 = icmp eq i64 %.391.us.3, 0
  %.431.us.3 = tail call i64 @llvm.bswap.i64(i64 %.387.us.3)
  %spec.select242.us.3 = select i1 %.428.not.us.3, i64 %.387.us.3, i64 %.431.us.3
  %.441.us.3 = lshr i64 %spec.select242.us.3, %.195.us
  %.447.us.3 = shl i64 %.441.us.3, %.188.us
  %.452.not.us.3 = icmp eq i64 %.395.us.3, 0
  %.460.us.3 = ashr exact i64 %.447.us.3, %.188.us
  %.463.us.3 = sitofp i64 %.460.us.3 to double
  %.470.us.3 = lshr exact i64 %.447.us.3, %.188.us
  %.475.us.3 = uitofp i64 %.470.us.3 to double
  %physical_v13__vphi200_0.2.4.us.3 = select i1 %.452.not.us.3, double %.475.us.3, double %.463.us.3
  %.483.us.3 = fmul double %.399.us.3, %physical_v13__vphi200_0.2.4.us.3
  %.494.us.3 = fcmp une double %.403.us.3, 0.000000e+00
  %.498.us.3 = fadd double %.403.us.3, %.483.us.3
  %physical_v13_x_1.2.4.us.3 = select i1 %.494.us.3, double %.498.us.3, double %.483.us.3
  %sunkaddr482 = getelementptr i8, ptr %sunkaddr473, i64 24
  store double %physical_v13_x_1.2.4.us.3, ptr %sunkaddr482, align 8
  %exitcond322.not.3 = icmp eq i64 %spec.select.us, %.353.us.3
  br i1 %exitcond322.not.3, label %iter.check27, label %B304.us, !llvm.loop !31

iter.check27:                                     ; preds = %B304.us, %B304.us.prol.loopexit, %vec.epilog.middle.block153, %middle.block132
  br i1 %min.iters.check109, label %B2887.us.preheader, label %vector.main.loop.iter.check29

B2887.us.preheader:                               ; preds = %vec.epilog.middle.block78, %vec.epilog.iter.check63, %iter.check27
  %least_negative.2.3261.us.ph = phi double [ %49, %vec.epilog.middle.block78 ], [ %41, %vec.epilog.iter.check63 ], [ %least_negative.3.1.us, %iter.check27 ]
  %least.2.3260.us.ph = phi double [ %50, %vec.epilog.middle.block78 ], [ %42, %vec.epilog.iter.check63 ], [ %least.3.1.us, %iter.check27 ]
  %.622256258.us.ph = phi i64 [ %n.vec67, %vec.epilog.middle.block78 ], [ %n.vec32, %vec.epilog.iter.check63 ], [ 0, %iter.check27 ]
  br label %B2887.us

vector.main.loop.iter.check29:                    ; preds = %iter.check27
  %min.iters.check28 = icmp slt i64 %.251.us, 32
  br i1 %min.iters.check28, label %vec.epilog.ph65, label %vector.ph30

vector.ph30:                                      ; preds = %vector.main.loop.iter.check29
  %n.vec32 = and i64 %spec.select.us, 4064
  %broadcast.splatinsert = insertelement <8 x double> poison, double %least_negative.3.1.us, i64 0
  %broadcast.splat = shufflevector <8 x double> %broadcast.splatinsert, <8 x double> poison, <8 x i32> zeroinitializer
  %broadcast.splatinsert33 = insertelement <8 x double> poison, double %least.3.1.us, i64 0
  %broadcast.splat34 = shufflevector <8 x double> %broadcast.splatinsert33, <8 x double> poison, <8 x i32> zeroinitializer
  br label %vector.body35

vector.body35:                                    ; preds = %vector.body35, %vector.ph30
  %index36 = phi i64 [ 0, %vector.ph30 ], [ %index.next47, %vector.body35 ]
  %vec.phi = phi <8 x double> [ %broadcast.splat, %vector.ph30 ], [ %36, %vector.body35 ]
  %vec.phi37 = phi <8 x double> [ %broadcast.splat, %vector.ph30 ], [ %37, %vector.body35 ]
  %vec.phi38 = phi <8 x double> [ %broadcast.splat, %vector.ph30 ], [ %38, %vector.body35 ]
  %vec.phi39 = phi <8 x double> [ %broadcast.splat, %vector.ph30 ], [ %39, %vector.body35 ]
  %vec.phi40 = phi <8 x double> [ %broadcast.splat34, %vector.ph30 ], [ %28, %vector.body35 ]
  %vec.phi41 = phi <8 x double> [ %broadcast.splat34, %vector.ph30 ], [ %29, %vector.body35 ]
  %vec.phi42 = phi <8 x double> [ %broadcast.splat34, %vector.ph30 ], [ %30, %vector.body35 ]
  %vec.phi43 = phi <8 x double> [ %broadcast.splat34, %vector.ph30 ], [ %31, %vector.body35 ]
  %sunkaddr483 = shl i64 %index36, 3
  %sunkaddr484 = getelementptr i8, ptr %arg.few, i64 %sunkaddr483
  %wide.load = load <8 x double>, ptr %sunkaddr484, align 8
  %sunkaddr487 = getelementptr i8, ptr %sunkaddr484, i64 64
  %wide.load44 = load <8 x double>, ptr %sunkaddr487, align 8
  %sunkaddr490 = getelementptr i8, ptr %sunkaddr484, i64 128
  %wide.load45 = load <8 x double>, ptr %sunkaddr490, align 8
  %sunkaddr493 = getelementptr i8, ptr %sunkaddr484, i64 192
  %wide.load46 = load <8 x double>, ptr %sunkaddr493, align 8
  %28 = tail call nnan nsz <8 x double> @llvm.minnum.v8f64(<8 x double> %wide.load, <8 x double> %vec.phi40)
  %29 = tail call nnan nsz <8 x double> @llvm.minnum.v8f64(<8 x double> %wide.load44, <8 x double> %vec.phi41)
  %30 = tail call nnan nsz <8 x double> @llvm.minnum.v8f64(<8 x double> %wide.load45, <8 x double> %vec.phi42)
  %31 = tail call nnan nsz <8 x double> @llvm.minnum.v8f64(<8 x double> %wide.load46, <8 x double> %vec.phi43)
  %32 = fneg <8 x double> %wide.load
  %33 = fneg <8 x double> %wide.load44
  %34 = fneg <8 x double> %wide.load45
  %35 = fneg <8 x double> %wide.load46
  %36 = tail call nnan nsz <8 x double> @llvm.minnum.v8f64(<8 x double> %vec.phi, <8 x double> %32)
  %37 = tail call nnan nsz <8 x double> @llvm.minnum.v8f64(<8 x double> %vec.phi37, <8 x double> %33)
  %38 = tail call nnan nsz <8 x double> @llvm.minnum.v8f64(<8 x double> %vec.phi38, <8 x double> %34)
  %39 = tail call nnan nsz <8 x double> @llvm.minnum.v8f64(<8 x double> %vec.phi39, <8 x double> %35)
  %index.next47 = add nuw i64 %index36, 32
  %40 = icmp eq i64 %n.vec32, %index.next47
  br i1 %40, label %middle.block48, label %vector.body35, !llvm.loop !32

middle.block48:                                   ; preds = %vector.body35
  %rdx.minmax.select = tail call nnan nsz <8 x double> @llvm.minnum.v8f64(<8 x double> %36, <8 x double> %37)
  %rdx.minmax.select50 = tail call nnan nsz <8 x double> @llvm.minnum.v8f64(<8 x double> %rdx.minmax.select, <8 x double> %38)
  %rdx.minmax.select52 = tail call nnan nsz <8 x double> @llvm.minnum.v8f64(<8 x double> %rdx.minmax.select50, <8 x double> %39)
  %rdx.shuf = shufflevector <8 x double> %rdx.minmax.select52, <8 x double> poison, <8 x i32> <i32 4, i32 5, i32 6, i32 7, i32 poison, i32 poison, i32 poison, i32 poison>
  %rdx.minmax.select361 = tail call nnan nsz <8 x double> @llvm.minnum.v8f64(<8 x double> %rdx.minmax.select52, <8 x double> %rdx.shuf)
  %rdx.shuf362 = shufflevector <8 x double> %rdx.minmax.select361, <8 x double> poison, <8 x i32> <i32 2, i32 3, i32 poison, i32 poison, i32 poison, i32 poison, i32 poison, i32 poison>
  %rdx.minmax.select364 = tail call nnan nsz <8 x double> @llvm.minnum.v8f64(<8 x double> %rdx.minmax.select361, <8 x double> %rdx.shuf362)
  %rdx.shuf365 = shufflevector <8 x double> %rdx.minmax.select364, <8 x double> poison, <8 x i32> <i32 1, i32 poison, i32 poison, i32 poison, i32 poison, i32 poison, i32 poison, i32 poison>
  %rdx.minmax.select367 = tail call nnan nsz <8 x double> @llvm.minnum.v8f64(<8 x double> %rdx.minmax.select364, <8 x double> %rdx.shuf365)
  %41 = extractelement <8 x double> %rdx.minmax.select367, i64 0
  %rdx.minmax.select54 = tail call nnan nsz <8 x double> @llvm.minnum.v8f64(<8 x double> %28, <8 x double> %29)
  %rdx.minmax.select56 = tail call nnan nsz <8 x double> @llvm.minnum.v8f64(<8 x double> %rdx.minmax.select54, <8 x double> %30)
  %rdx.minmax.select58 = tail call nnan nsz <8 x double> @llvm.minnum.v8f64(<8 x double> %rdx.minmax.select56, <8 x double> %31)
  %rdx.shuf368 = shufflevector <8 x double> %rdx.minmax.select58, <8 x double> poison, <8 x i32> <i32 4, i32 5, i32 6, i32 7, i32 poison, i32 poison, i32 poison, i32 poison>
  %rdx.minmax.select370 = tail call nnan nsz <8 x double> @llvm.minnum.v8f64(<8 x double> %rdx.minmax.select58, <8 x double> %rdx.shuf368)
  %rdx.shuf371 = shufflevector <8 x double> %rdx.minmax.select370, <8 x double> poison, <8 x i32> <i32 2, i32 3, i32 poison, i32 poison, i32 poison, i32 poison, i32 poison, i32 poison>
  %rdx.minmax.select373 = tail call nnan nsz <8 x double> @llvm.minnum.v8f64(<8 x double> %rdx.minmax.select370, <8 x double> %rdx.shuf371)
  %rdx.shuf374 = shufflevector <8 x double> %rdx.minmax.select373, <8 x double> poison, <8 x i32> <i32 1, i32 poison, i32 poison, i32 poison, i32 poison, i32 poison, i32 poison, i32 poison>
  %rdx.minmax.select376 = tail call nnan nsz <8 x double> @llvm.minnum.v8f64(<8 x double> %rdx.minmax.select373, <8 x double> %rdx.shuf374)
  %42 = extractelement <8 x double> %rdx.minmax.select376, i64 0
  %cmp.n59 = icmp eq i64 %spec.select.us, %n.vec32
  br i1 %cmp.n59, label %B3027.us.preheader, label %vec.epilog.iter.check63

vec.epilog.iter.check63:                          ; preds = %middle.block48
  %43 = and i64 %spec.select.us, 28
  %min.epilog.iters.check64 = icmp eq i64 %43, 0
  br i1 %min.epilog.iters.check64, label %B2887.us.preheader, label %vec.epilog.ph65, !prof !22

vec.epilog.ph65:                                  ; preds = %vec.epilog.iter.check63, %vector.main.loop.iter.check29
  %vec.epilog.resume.val60 = phi i64 [ %n.vec32, %vec.epilog.iter.check63 ], [ 0, %vector.main.loop.iter.check29 ]
  %bc.merge.rdx = phi double [ %41, %vec.epilog.iter.check63 ], [ %least_negative.3.1.us, %vector.main.loop.iter.check29 ]
  %bc.merge.rdx61 = phi double [ %42, %vec.epilog.iter.check63 ], [ %least.3.1.us, %vector.main.loop.iter.check29 ]
  %n.vec67 = and i64 %spec.select.us, 4092
  %broadcast.splatinsert68 = insertelement <4 x double> poison, double %bc.merge.rdx, i64 0
  %broadcast.splat69 = shufflevector <4 x double> %broadcast.splatinsert68, <4 x double> poison, <4 x i32> zeroinitializer
  %broadcast.splatinsert70 = insertelement <4 x double> poison, double %bc.merge.rdx61, i64 0
  %broadcast.splat71 = shufflevector <4 x double> %broadcast.splatinsert70, <4 x double> poison, <4 x i32> zeroinitializer
  br label %vec.epilog.vector.body72

vec.epilog.vector.body72:                         ; preds = %vec.epilog.vector.body72, %vec.epilog.ph65
  %index73 = phi i64 [ %vec.epilog.resume.val60, %vec.epilog.ph65 ], [ %index.next77, %vec.epilog.vector.body72 ]
  %vec.phi74 = phi <4 x double> [ %broadcast.splat69, %vec.epilog.ph65 ], [ %47, %vec.epilog.vector.body72 ]
  %vec.phi75 = phi <4 x double> [ %broadcast.splat71, %vec.epilog.ph65 ], [ %45, %vec.epilog.vector.body72 ]
  %44 = shl i64 %index73, 3
  %scevgep235 = getelementptr i8, ptr %arg.few, i64 %44
  %wide.load76 = load <4 x double>, ptr %scevgep235, align 8
  %45 = tail call nnan nsz <4 x double> @llvm.minnum.v4f64(<4 x double> %wide.load76, <4 x double> %vec.phi75)
  %46 = fneg <4 x double> %wide.load76
  %47 = tail call nnan nsz <4 x double> @llvm.minnum.v4f64(<4 x double> %vec.phi74, <4 x double> %46)
  %index.next77 = add nuw i64 %index73, 4
  %48 = icmp eq i64 %n.vec67, %index.next77
  br i1 %48, label %vec.epilog.middle.block78, label %vec.epilog.vector.body72, !llvm.loop !33

vec.epilog.middle.block78:                        ; preds = %vec.epilog.vector.body72
  %rdx.shuf377 = shufflevector <4 x double> %47, <4 x double> poison, <4 x i32> <i32 2, i32 3, i32 poison, i32 poison>
  %rdx.minmax.select379 = tail call nnan nsz <4 x double> @llvm.minnum.v4f64(<4 x double> %47, <4 x double> %rdx.shuf377)
  %rdx.shuf380 = shufflevector <4 x double> %rdx.minmax.select379, <4 x double> poison, <4 x i32> <i32 1, i32 poison, i32 poison, i32 poison>
  %rdx.minmax.select382 = tail call nnan nsz <4 x double> @llvm.minnum.v4f64(<4 x double> %rdx.minmax.select379, <4 x double> %rdx.shuf380)
  %49 = extractelement <4 x double> %rdx.minmax.select382, i64 0
  %rdx.shuf383 = shufflevector <4 x double> %45, <4 x double> poison, <4 x i32> <i32 2, i32 3, i32 poison, i32 poison>
  %rdx.minmax.select385 = tail call nnan nsz <4 x double> @llvm.minnum.v4f64(<4 x double> %45, <4 x double> %rdx.shuf383)
  %rdx.shuf386 = shufflevector <4 x double> %rdx.minmax.select385, <4 x double> poison, <4 x i32> <i32 1, i32 poison, i32 poison, i32 poison>
  %rdx.minmax.select388 = tail call nnan nsz <4 x double> @llvm.minnum.v4f64(<4 x double> %rdx.minmax.select385, <4 x double> %rdx.shuf386)
  %50 = extractelement <4 x double> %rdx.minmax.select388, i64 0
  %cmp.n79 = icmp eq i64 %spec.select.us, %n.vec67
  br i1 %cmp.n79, label %B3027.us.preheader, label %B2887.us.preheader

B3095.loopexit.us:                                ; preds = %B3071.us
  %.144.us = add nuw nsw i64 %.137284304.us, 1
  %sunkaddr495 = getelementptr i8, ptr %arg.lowest, i64 %17
  store double %least.2.3.lcssa.us328, ptr %sunkaddr495, align 8
  %.912.us = fneg double %least_negative.2.3.lcssa.us329
  %sunkaddr497 = getelementptr i8, ptr %arg.highest, i64 %17
  store double %.912.us, ptr %sunkaddr497, align 8
  %.922.us = getelementptr i64, ptr %arg.below, i64 %.137284304.us
  store i64 %less.2.3.lcssa.us, ptr %.922.us, align 8
  %.928.us = sub nsw i64 %n_found.2.3.lcssa.us, %.215.us
  %.935.us = getelementptr i64, ptr %arg.found, i64 %.137284304.us
  store i64 %.928.us, ptr %.935.us, align 8
  %exitcond325.not = icmp eq i64 %.144.us, %arg.count
  br i1 %exitcond325.not, label %B3105, label %B38.us

iter.check111:                                    ; preds = %B246.us
  %51 = getelementptr i64, ptr %arg.data, i64 %done.2.1.us
  %min.iters.check109 = icmp slt i64 %.251.us, 4
  br i1 %min.iters.check109, label %B304.us.preheader, label %vector.memcheck83

vector.memcheck83:                                ; preds = %iter.check111
  %52 = shl nuw nsw i64 %spec.select.us, 3
  %scevgep = getelementptr i8, ptr %arg.few, i64 %52
  %53 = add i64 %spec.select.us, %done.2.1.us
  %54 = shl i64 %53, 3
  %scevgep84 = getelementptr i8, ptr %arg.data, i64 %54
  %bound0 = icmp ult ptr %arg.few, %scevgep84
  %bound1 = icmp ult ptr %51, %scevgep
  %found.conflict = and i1 %bound1, %bound0
  %bound194 = icmp ult ptr %scevgep85, %scevgep
  %found.conflict95 = and i1 %22, %bound194
  %conflict.rdx96 = or i1 %found.conflict95, %found.conflict
  %bound198 = icmp ult ptr %scevgep87, %scevgep
  %found.conflict99 = and i1 %21, %bound198
  %conflict.rdx100 = or i1 %found.conflict99, %conflict.rdx96
  %bound1102 = icmp ult ptr %scevgep89, %scevgep
  %found.conflict103 = and i1 %20, %bound1102
  %conflict.rdx104 = or i1 %found.conflict103, %conflict.rdx100
  %bound1106 = icmp ult ptr %scevgep91, %scevgep
  %found.conflict107 = and i1 %19, %bound1106
  %conflict.rdx108 = or i1 %found.conflict107, %conflict.rdx104
  br i1 %conflict.rdx108, label %B304.us.preheader, label %vector.main.loop.iter.check113

vector.main.loop.iter.check113:                   ; preds = %vector.memcheck83
  %min.iters.check112 = icmp slt i64 %.251.us, 32
  br i1 %min.iters.check112, label %vec.epilog.ph138, label %vector.ph114

vector.ph114:                                     ; preds = %vector.main.loop.iter.check113
  %n.vec116 = and i64 %spec.select.us, 4064
  %55 = load double, ptr %scevgep91, align 8, !alias.scope !34
  %broadcast.splatinsert117 = insertelement <8 x double> poison, double %55, i64 0
  %broadcast.splat118 = shufflevector <8 x double> %broadcast.splatinsert117, <8 x double> poison, <8 x i32> zeroinitializer
  %56 = load double, ptr %scevgep89, align 8, !alias.scope !37
  %broadcast.splatinsert129 = insertelement <8 x double> poison, double %56, i64 0
  %broadcast.splat130 = shufflevector <8 x double> %broadcast.splatinsert129, <8 x double> poison, <8 x i32> zeroinitializer
  %57 = load i64, ptr %scevgep87, align 8, !alias.scope !39
  %58 = load i64, ptr %scevgep85, align 8, !alias.scope !41
  %59 = shl i64 %done.2.1.us, 3
  %scevgep199 = getelementptr i8, ptr %scevgep198, i64 %59
  %60 = fcmp une double %55, 0.000000e+00
  %61 = icmp eq i64 %57, 0
  %62 = icmp eq i64 %58, 0
  br label %vector.body123

vector.body123:                                   ; preds = %vector.body123, %vector.ph114
  %index124 = phi i64 [ 0, %vector.ph114 ], [ %index.next131, %vector.body123 ]
  %63 = shl i64 %index124, 3
  %scevgep205 = getelementptr i8, ptr %scevgep199, i64 %63
  %scevgep206 = getelementptr i8, ptr %scevgep205, i64 -192
  %scevgep204 = getelementptr i8, ptr %scevgep205, i64 -128
  %scevgep202 = getelementptr i8, ptr %scevgep205, i64 -64
  %wide.load125 = load <8 x i64>, ptr %scevgep206, align 8, !alias.scope !43
  %wide.load126 = load <8 x i64>, ptr %scevgep204, align 8, !alias.scope !43
  %wide.load127 = load <8 x i64>, ptr %scevgep202, align 8, !alias.scope !43
  %wide.load128 = load <8 x i64>, ptr %scevgep205, align 8, !alias.scope !43
  %64 = tail call <8 x i64> @llvm.bswap.v8i64(<8 x i64> %wide.load125)
  %65 = tail call <8 x i64> @llvm.bswap.v8i64(<8 x i64> %wide.load126)
  %66 = tail call <8 x i64> @llvm.bswap.v8i64(<8 x i64> %wide.load127)
  %67 = tail call <8 x i64> @llvm.bswap.v8i64(<8 x i64> %wide.load128)
  %68 = select i1 %62, <8 x i64> %wide.load125, <8 x i64> %64
  %69 = select i1 %62, <8 x i64> %wide.load126, <8 x i64> %65
  %70 = select i1 %62, <8 x i64> %wide.load127, <8 x i64> %66
  %71 = select i1 %62, <8 x i64> %wide.load128, <8 x i64> %67
  %72 = lshr <8 x i64> %68, %broadcast.splat120
  %73 = lshr <8 x i64> %69, %broadcast.splat120
  %74 = lshr <8 x i64> %70, %broadcast.splat120
  %75 = lshr <8 x i64> %71, %broadcast.splat120
  %76 = shl <8 x i64> %72, %broadcast.splat122
  %77 = shl <8 x i64> %73, %broadcast.splat122
  %78 = shl <8 x i64> %74, %broadcast.splat122
  %79 = shl <8 x i64> %75, %broadcast.splat122
  %80 = ashr exact <8 x i64> %76, %broadcast.splat122
  %81 = ashr exact <8 x i64> %77, %broadcast.splat122
  %82 = ashr exact <8 x i64> %78, %broadcast.splat122
  %83 = ashr exact <8 x i64> %79, %broadcast.splat122
  %84 = sitofp <8 x i64> %80 to <8 x double>
  %85 = sitofp <8 x i64> %81 to <8 x double>
  %86 = sitofp <8 x i64> %82 to <8 x double>
  %87 = sitofp <8 x i64> %83 to <8 x double>
  %88 = lshr exact <8 x i64> %76, %broadcast.splat122
  %89 = lshr exact <8 x i64> %77, %broadcast.splat122
  %90 = lshr exact <8 x i64> %78, %broadcast.splat122
  %91 = lshr exact <8 x i64> %79, %broadcast.splat122
  %92 = uitofp <8 x i64> %88 to <8 x double>
  %93 = uitofp <8 x i64> %89 to <8 x double>
  %94 = uitofp <8 x i64> %90 to <8 x double>
  %95 = uitofp <8 x i64> %91 to <8 x double>
  %96 = select i1 %61, <8 x double> %92, <8 x double> %84
  %97 = select i1 %61, <8 x double> %93, <8 x double> %85
  %98 = select i1 %61, <8 x double> %94, <8 x double> %86
  %99 = select i1 %61, <8 x double> %95, <8 x double> %87
  %100 = fmul <8 x double> %broadcast.splat130, %96
  %101 = fmul <8 x double> %broadcast.splat130, %97
  %102 = fmul <8 x double> %broadcast.splat130, %98
  %103 = fmul <8 x double> %broadcast.splat130, %99
  %104 = fadd <8 x double> %broadcast.splat118, %100
  %105 = fadd <8 x double> %broadcast.splat118, %101
  %106 = fadd <8 x double> %broadcast.splat118, %102
  %107 = fadd <8 x double> %broadcast.splat118, %103
  %108 = select i1 %60, <8 x double> %104, <8 x double> %100
  %109 = select i1 %60, <8 x double> %105, <8 x double> %101
  %110 = select i1 %60, <8 x double> %106, <8 x double> %102
  %111 = select i1 %60, <8 x double> %107, <8 x double> %103
  %sunkaddr507 = getelementptr i8, ptr %arg.few, i64 %63
  store <8 x double> %108, ptr %sunkaddr507, align 8, !alias.scope !45, !noalias !47
  %sunkaddr510 = getelementptr i8, ptr %sunkaddr507, i64 64
  store <8 x double> %109, ptr %sunkaddr510, align 8, !alias.scope !45, !noalias !47
  %sunkaddr513 = getelementptr i8, ptr %sunkaddr507, i64 128
  store <8 x double> %110, ptr %sunkaddr513, align 8, !alias.scope !45, !noalias !47
  %sunkaddr516 = getelementptr i8, ptr %sunkaddr507, i64 192
  store <8 x double> %111, ptr %sunkaddr516, align 8, !alias.scope !45, !noalias !47
  %index.next131 = add nuw i64 %index124, 32
  %112 = icmp eq i64 %n.vec116, %index.next131
  br i1 %112, label %middle.block132, label %vector.body123, !llvm.loop !48

middle.block132:                                  ; preds = %vector.body123
  %cmp.n133 = icmp eq i64 %spec.select.us, %n.vec116
  br i1 %cmp.n133, label %iter.check27, label %vec.epilog.iter.check136

vec.epilog.iter.check136:                         ; preds = %middle.block132
  %113 = and i64 %spec.select.us, 28
  %min.epilog.iters.check137 = icmp eq i64 %113, 0
  br i1 %min.epilog.iters.check137, label %B304.us.preheader, label %vec.epilog.ph138, !prof !22

vec.epilog.ph138:                                 ; preds = %vec.epilog.iter.check136, %vector.main.loop.iter.check113
  %vec.epilog.resume.val134 = phi i64 [ %n.vec116, %vec.epilog.iter.check136 ], [ 0, %vector.main.loop.iter.check113 ]
  %n.vec140 = and i64 %spec.select.us, 4092
  %114 = load double, ptr %scevgep91, align 8, !alias.scope !34
  %broadcast.splatinsert141 = insertelement <4 x double> poison, double %114, i64 0
  %broadcast.splat142 = shufflevector <4 x double> %broadcast.splatinsert141, <4 x double> poison, <4 x i32> zeroinitializer
  %115 = load double, ptr %scevgep89, align 8, !alias.scope !37
  %broadcast.splatinsert150 = insertelement <4 x double> poison, double %115, i64 0
  %broadcast.splat151 = shufflevector <4 x double> %broadcast.splatinsert150, <4 x double> poison, <4 x i32> zeroinitializer
  %116 = load i64, ptr %scevgep87, align 8, !alias.scope !39
  %117 = load i64, ptr %scevgep85, align 8, !alias.scope !41
  %118 = fcmp une double %114, 0.000000e+00
  %119 = icmp eq i64 %116, 0
  %120 = icmp eq i64 %117, 0
  br label %vec.epilog.vector.body147

vec.epilog.vector.body147:                        ; preds = %vec.epilog.vector.body147, %vec.epilog.ph138
  %index148 = phi i64 [ %vec.epilog.resume.val134, %vec.epilog.ph138 ], [ %index.next152, %vec.epilog.vector.body147 ]
  %121 = shl i64 %index148, 3
  %scevgep208 = getelementptr i8, ptr %51, i64 %121
  %wide.load149 = load <4 x i64>, ptr %scevgep208, align 8, !alias.scope !43
  %122 = tail call <4 x i64> @llvm.bswap.v4i64(<4 x i64> %wide.load149)
  %123 = select i1 %120, <4 x i64> %wide.load149, <4 x i64> %122
  %124 = lshr <4 x i64> %123, %broadcast.splat144
  %125 = shl <4 x i64> %124, %broadcast.splat146
  %126 = ashr exact <4 x i64> %125, %broadcast.splat146
  %127 = sitofp <4 x i64> %126 to <4 x double>
  %128 = lshr exact <4 x i64> %125, %broadcast.splat146
  %129 = uitofp <4 x i64> %128 to <4 x double>
  %130 = select i1 %119, <4 x double> %129, <4 x double> %127
  %131 = fmul <4 x double> %broadcast.splat151, %130
  %132 = fadd <4 x double> %broadcast.splat142, %131
  %133 = select i1 %118, <4 x double> %132, <4 x double> %131
  %scevgep207 = getelementptr i8, ptr %arg.few, i64 %121
  store <4 x double> %133, ptr %scevgep207, align 8, !alias.scope !45, !noalias !47
  %index.next152 = add nuw i64 %index148, 4
  %134 = icmp eq i64 %n.vec140, %index.next152
  br i1 %134, label %vec.epilog.middle.block153, label %vec.epilog.vector.body147, !llvm.loop !49

vec.epilog.middle.block153:                       ; preds = %vec.epilog.vector.body147
  %cmp.n154 = icmp eq i64 %spec.select.us, %n.vec140
  br i1 %cmp.n154, label %iter.check27, label %B304.us.preheader

B304.us.preheader:                                ; preds = %vec.epilog.middle.block153, %vec.epilog.iter.check136, %vector.memcheck83, %iter.check111
  %.346250252.us.ph = phi i64 [ 0, %iter.check111 ], [ 0, %vector.memcheck83 ], [ %n.vec116, %vec.epilog.iter.check136 ], [ %n.vec140, %vec.epilog.middle.block153 ]
  %xtraiter168 = and i64 %spec.select.us, 3
  %lcmp.mod169.not = icmp eq i64 %xtraiter168, 0
  br i1 %lcmp.mod169.not, label %B304.us.prol.loopexit, label %B304.us.prol

B304.us.prol:                                     ; preds = %B304.us.preheader, %B304.us.prol
  %lsr.iv = phi i64 [ %lsr.iv.next, %B304.us.prol ], [ %xtraiter168, %B304.us.preheader ]
  %.346250252.us.prol = phi i64 [ %.353.us.prol, %B304.us.prol ], [ %.346250252.us.ph, %B304.us.preheader ]
  %.353.us.prol = add nuw nsw i64 %.346250252.us.prol, 1
  %135 = shl nuw nsw i64 %.346250252.us.prol, 3
  %scevgep210 = getelementptr i8, ptr %51, i64 %135
  %.387.us.prol = load i64, ptr %scevgep210, align 8
  %.391.us.prol = load i64, ptr %scevgep85, align 8
  %.395.us.prol = load i64, ptr %scevgep87, align 8
  %.399.us.prol = load double, ptr %scevgep89, align 8
  %.403.us.prol = load double, ptr %scevgep91, align 8
  %.428.not.us.prol = icmp eq i64 %.391.us.prol, 0
  %.431.us.prol = tail call i64 @llvm.bswap.i64(i64 %.387.us.prol)
  %spec.select242.us.prol = select i1 %.428.not.us.prol, i64 %.387.us.prol, i64 %.431.us.prol
  %.441.us.prol = lshr i64 %spec.select242.us.prol, %.195.us
  %.447.us.prol = shl i64 %.441.us.prol, %.188.us
  %.452.not.us.prol = icmp eq i64 %.395.us.prol, 0
  %.460.us.prol = ashr exact i64 %.447.us.prol, %.188.us
  %.463.us.prol = sitofp i64 %.460.us.prol to double
  %.470.us.prol = lshr exact i64 %.447.us.prol, %.188.us
  %.475.us.prol = uitofp i64 %.470.us.prol to double
  %physical_v13__vphi200_0.2.4.us.prol = select i1 %.452.not.us.prol, double %.475.us.prol, double %.463.us.prol
  %.483.us.prol = fmul double %.399.us.prol, %physical_v13__vphi200_0.2.4.us.prol
  %.494.us.prol = fcmp une double %.403.us.prol, 0.000000e+00
  %.498.us.prol = fadd double %.403.us.prol, %.483.us.prol
  %physical_v13_x_1.2.4.us.prol = select i1 %.494.us.prol, double %.498.us.prol, double %.483.us.prol
  %scevgep209 = getelementptr i8, ptr %arg.few, i64 %135
  store double %physical_v13_x_1.2.4.us.prol, ptr %scevgep209, align 8
  %lsr.iv.next = add nsw i64 %lsr.iv, -1
  %prol.iter170.cmp.not = icmp eq i64 %lsr.iv.next, 0
  br i1 %prol.iter170.cmp.not, label %B304.us.prol.loopexit, label %B304.us.prol, !llvm.loop !50

B304.us.prol.loopexit:                            ; preds = %B304.us.prol, %B304.us.preheader
  %.346250252.us.unr = phi i64 [ %.346250252.us.ph, %B304.us.preheader ], [ %.353.us.prol, %B304.us.prol ]
  %136 = sub nsw i64 %.346250252.us.ph, %spec.select.us
  %137 = icmp ugt i64 %136, -4
  br i1 %137, label %iter.check27, label %B304.us.preheader187

B304.us.preheader187:                             ; preds = %B304.us.prol.loopexit
  %138 = shl i64 %done.2.1.us, 3
  %scevgep220 = getelementptr i8, ptr %scevgep219, i64 %138
  br label %B304.us

B38:                                              ; preds = %B38.prol.loopexit, %B38
  %.137284304 = phi i64 [ %.144.7, %B38 ], [ %.137284304.unr, %B38.prol.loopexit ]
  %sunkaddr533 = shl i64 %.137284304, 3
  %sunkaddr534 = getelementptr i8, ptr %arg.lowest, i64 %sunkaddr533
  store double 0x7FF0000000000000, ptr %sunkaddr534, align 8
  %sunkaddr536 = getelementptr i8, ptr %arg.highest, i64 %sunkaddr533
  store double 0xFFF0000000000000, ptr %sunkaddr536, align 8
  %sunkaddr538 = getelementptr i8, ptr %arg.below, i64 %sunkaddr533
  store i64 0, ptr %sunkaddr538, align 8
  %sunkaddr540 = getelementptr i8, ptr %arg.found, i64 %sunkaddr533
  store i64 0, ptr %sunkaddr540, align 8
  %sunkaddr543 = getelementptr i8, ptr %sunkaddr534, i64 8
  store double 0x7FF0000000000000, ptr %sunkaddr543, align 8
  %sunkaddr546 = getelementptr i8, ptr %sunkaddr536, i64 8
  store double 0xFFF0000000000000, ptr %sunkaddr546, align 8
  %sunkaddr549 = getelementptr i8, ptr %sunkaddr538, i64 8
  store i64 0, ptr %sunkaddr549, align 8
  %sunkaddr552 = getelementptr i8, ptr %sunkaddr540, i64 8
  store i64 0, ptr %sunkaddr552, align 8
  %sunkaddr555 = getelementptr i8, ptr %sunkaddr534, i64 16
  store double 0x7FF0000000000000, ptr %sunkaddr555, align 8
  %sunkaddr558 = getelementptr i8, ptr %sunkaddr536, i64 16
  store double 0xFFF0000000000000, ptr %sunkaddr558, align 8
  %sunkaddr561 = getelementptr i8, ptr %sunkaddr538, i64 16
  store i64 0, ptr %sunkaddr561, align 8
  %sunkaddr564 = getelementptr i8, ptr %sunkaddr540, i64 16
  store i64 0, ptr %sunkaddr564, align 8
  %sunkaddr567 = getelementptr i8, ptr %sunkaddr534, i64 24
  store double 0x7FF0000000000000, ptr %sunkaddr567, align 8
  %sunkaddr570 = getelementptr i8, ptr %sunkaddr536, i64 24
  store double 0xFFF0000000000000, ptr %sunkaddr570, align 8
  %sunkaddr573 = getelementptr i8, ptr %sunkaddr538, i64 24
  store i64 0, ptr %sunkaddr573, align 8
  %sunkaddr576 = getelementptr i8, ptr %sunkaddr540, i64 24
  store i64 0, ptr %sunkaddr576, align 8
  %sunkaddr579 = getelementptr i8, ptr %sunkaddr534, i64 32
  store double 0x7FF0000000000000, ptr %sunkaddr579, align 8
  %sunkaddr582 = getelementptr i8, ptr %sunkaddr536, i64 32
  store double 0xFFF0000000000000, ptr %sunkaddr582, align 8
  %sunkaddr585 = getelementptr i8, ptr %sunkaddr538, i64 32
  store i64 0, ptr %sunkaddr585, align 8
  %sunkaddr588 = getelementptr i8, ptr %sunkaddr540, i64 32
  store i64 0, ptr %sunkaddr588, align 8
  %sunkaddr591 = getelementptr i8, ptr %sunkaddr534, i64 40
  store double 0x7FF0000000000000, ptr %sunkaddr591, align 8
  %sunkaddr594 = getelementptr i8, ptr %sunkaddr536, i64 40
  store double 0xFFF0000000000000, ptr %sunkaddr594, align 8
  %sunkaddr597 = getelementptr i8, ptr %sunkaddr538, i64 40
  store i64 0, ptr %sunkaddr597, align 8
  %sunkaddr600 = getelementptr i8, ptr %sunkaddr540, i64 40
  store i64 0, ptr %sunkaddr600, align 8
  %sunkaddr603 = getelementptr i8, ptr %sunkaddr534, i64 48
  store double 0x7FF0000000000000, ptr %sunkaddr603, align 8
  %sunkaddr606 = getelementptr i8, ptr %sunkaddr536, i64 48
  store double 0xFFF0000000000000, ptr %sunkaddr606, align 8
  %sunkaddr609 = getelementptr i8, ptr %sunkaddr538, i64 48
  store i64 0, ptr %sunkaddr609, align 8
  %sunkaddr612 = getelementptr i8, ptr %sunkaddr540, i64 48
  store i64 0, ptr %sunkaddr612, align 8
  %.144.7 = add nuw nsw i64 %.137284304, 8
  %sunkaddr615 = getelementptr i8, ptr %sunkaddr534, i64 56
  store double 0x7FF0000000000000, ptr %sunkaddr615, align 8
  %sunkaddr618 = getelementptr i8, ptr %sunkaddr536, i64 56
  store double 0xFFF0000000000000, ptr %sunkaddr618, align 8
  %sunkaddr621 = getelementptr i8, ptr %sunkaddr538, i64 56
  store i64 0, ptr %sunkaddr621, align 8
  %sunkaddr624 = getelementptr i8, ptr %sunkaddr540, i64 56
  store i64 0, ptr %sunkaddr624, align 8
  %exitcond.not.7 = icmp eq i64 %arg.count, %.144.7
  br i1 %exitcond.not.7, label %B3105, label %B38, !llvm.loop !51

B3105:                                            ; preds = %B38, %B3095.loopexit.us, %B38.prol.loopexit, %vec.epilog.middle.block, %middle.block, %B0.endif
  store i64 %arg.count, ptr %retptr, align 8
  ret void
}

; Function Attrs: mustprogress nocallback nofree nosync nounwind speculatable willreturn memory(none)
declare double @llvm.minnum.f64(double, double) #1

; Function Attrs: mustprogress nocallback nofree nosync nounwind speculatable willreturn memory(none)
declare <8 x double> @llvm.minnum.v8f64(<8 x double>, <8 x double>) #1

; Function Attrs: mustprogress nocallback nofree nosync nounwind speculatable willreturn memory(none)
declare <4 x double> @llvm.minnum.v4f64(<4 x double>, <4 x double>) #1

; Function Attrs: nofree norecurse nosync nounwind memory(argmem: readwrite)
define i64 @extents(ptr readonly %.1, i64 %.2, i64 %.3, ptr readonly %.4, ptr readonly %.5, ptr readonly %.6, ptr readonly %.7, ptr readonly %.8, ptr readonly %.9, ptr %.10, ptr %.11, ptr writeonly %.12, ptr writeonly %.13, ptr %.14, ptr writeonly %.15) local_unnamed_addr #0 {
entry:
  %.17 = alloca i64, align 8
  store i64 0, ptr %.17, align 8
  call fastcc void @inside_extents(ptr nonnull %.17, ptr %.1, i64 %.2, i64 %.3, ptr %.4, ptr %.5, ptr %.6, ptr %.7, ptr %.8, ptr %.9, ptr %.10, ptr %.11, ptr %.12, ptr %.13, ptr %.14, ptr %.15) #4
  %.31 = load i64, ptr %.17, align 8
  ret i64 %.31
}

; Function Attrs: nofree norecurse nosync nounwind memory(argmem: readwrite)
define internal fastcc void @inside_between(ptr noalias nonnull writeonly %retptr, ptr readonly %arg.x, i64 %arg.n, ptr readonly %arg.ends, ptr writeonly %arg.below, ptr writeonly %arg.room) unnamed_addr #0 {
B0.endif:
  %.16 = load double, ptr %arg.ends, align 8
  %.20 = getelementptr i8, ptr %arg.ends, i64 8
  %.21 = load double, ptr %.20, align 8
  %.11250.not = icmp slt i64 %arg.n, 1
  br i1 %.11250.not, label %B264, label %B76.preheader

B76.preheader:                                    ; preds = %B0.endif
  %xtraiter = and i64 %arg.n, 7
  %0 = icmp ult i64 %arg.n, 8
  br i1 %0, label %B76.epil.preheader, label %B76.preheader.new

B76.preheader.new:                                ; preds = %B76.preheader
  %unroll_iter = and i64 %arg.n, 9223372036854775800
  br label %B76

B76:                                              ; preds = %B76, %B76.preheader.new
  %less.2.054 = phi i64 [ 0, %B76.preheader.new ], [ %.175.7, %B76 ]
  %found.2.053 = phi i64 [ 0, %B76.preheader.new ], [ %.167.7, %B76 ]
  %.1184951 = phi i64 [ 0, %B76.preheader.new ], [ %.125.7, %B76 ]
  %sunkaddr = shl i64 %.1184951, 3
  %sunkaddr21 = getelementptr i8, ptr %arg.x, i64 %sunkaddr
  %.152 = load double, ptr %sunkaddr21, align 8
  %.155 = getelementptr double, ptr %arg.room, i64 %found.2.053
  store double %.152, ptr %.155, align 8
  %.158 = fcmp oge double %.152, %.16
  %.162 = fcmp ole double %.152, %.21
  %.16547 = and i1 %.158, %.162
  %.165 = zext i1 %.16547 to i64
  %.167 = add nuw nsw i64 %found.2.053, %.165
  %.171 = fcmp olt double %.152, %.16
  %.173 = zext i1 %.171 to i64
  %.175 = add nuw nsw i64 %less.2.054, %.173
  %sunkaddr25 = getelementptr i8, ptr %sunkaddr21, i64 8
  %.152.1 = load double, ptr %sunkaddr25, align 8
  %.155.1 = getelementptr double, ptr %arg.room, i64 %.167
  store double %.152.1, ptr %.155.1, align 8
  %.158.1 = fcmp oge double %.152.1, %.16
  %.162.1 = fcmp ole double %.152.1, %.21
  %.16547.1 = and i1 %.158.1, %.162.1
  %.165.1 = zext i1 %.16547.1 to i64
  %.167.1 = add nuw nsw i64 %.167, %.165.1
  %.171.1 = fcmp olt double %.152.1, %.16
  %.173.1 = zext i1 %.171.1 to i64
  %.175.1 = add nuw nsw i64 %.175, %.173.1
  %sunkaddr29 = getelementptr i8, ptr %sunkaddr21, i64 16
  %.152.2 = load double, ptr %sunkaddr29, align 8
  %.155.2 = getelementptr double, ptr %arg.room, i64 %.167.1
  store double %.152.2, ptr %.155.2, align 8
  %.158.2 = fcmp oge double %.152.2, %.16
  %.162.2 = fcmp ole double %.152.2, %.21
  %.16547.2 = and i1 %.158.2, %.162.2
  %.165.2 = zext i1 %.16547.2 to i64
  %.167.2 = add nuw nsw i64 %.167.1, %.165.2
  %.171.2 = fcmp olt double %.152.2, %.16
  %.173.2 = zext i1 %.171.2 to i64
  %.175.2 = add nuw nsw i64 %.175.1, %.173.2
  %sunkaddr33 = getelementptr i8, ptr %sunkaddr21, i64 24
  %.152.3 = load double, ptr %sunkaddr33, align 8
  %.155.3 = getelementptr double, ptr %arg.room, i64 %.167.2
  store double %.152.3, ptr %.155.3, align 8
  %.158.3 = fcmp oge double %.152.3, %.16
  %.162.3 = fcmp ole double %.152.3, %.21
  %.16547.3 = and i1 %.158.3, %.162.3
  %.165.3 = zext i1 %.16547.3 to i64
  %.167.3 = add nuw nsw i64 %.167.2, %.165.3
  %.171.3 = fcmp olt double %.152.3, %.16
  %.173.3 = zext i1 %.171.3 to i64
  %.175.3 = add nuw nsw i64 %.175.2, %.173.3
  %sunkaddr37 = getelementptr i8, ptr %sunkaddr21, i64 32
  %.152.4 = load double, ptr %sunkaddr37, align 8
  %.155.4 = getelementptr double, ptr %arg.room, i64 %.167.3
  store double %.152.4, ptr %.155.4, align 8
  %.158.4 = fcmp oge double %.152.4, %.16
  %.162.4 = fcmp ole double %.152.4, %.21
  %.16547.4 = and i1 %.158.4, %.162.4
  %.165.4 = zext i1 %.16547.4 to i64
  %.167.4 = add nuw nsw i64 %.167.3, %.165.4
  %.171.4 = fcmp olt double %.152.4, %.16
  %.173.4 = zext i1 %.171.4 to i64
  %.175.4 = add nuw nsw i64 %.175.3, %.173.4
  %sunkaddr41 = getelementptr i8, ptr %sunkaddr21, i64 40
  %.152.5 = load double, ptr %sunkaddr41, align 8
  %.155.5 = getelementptr double, ptr %arg.room, i64 %.167.4
  store double %.152.5, ptr %.155.5, align 8
  %.158.5 = fcmp oge double %.152.5, %.16
  %.162.5 = fcmp ole double %.152.5, %.21
  %.16547.5 = and i1 %.158.5, %.162.5
  %.165.5 = zext i1 %.16547.5 to i64
  %.167.5 = add nuw nsw i64 %.167.4, %.165.5
  %.171.5 = fcmp olt double %.152.5, %.16
  %.173.5 = zext i1 %.171.5 to i64
  %.175.5 = add nuw nsw i64 %.175.4, %.173.5
  %sunkaddr45 = getelementptr i8, ptr %sunkaddr21, i64 48
  %.152.6 = load double, ptr %sunkaddr45, align 8
  %.155.6 = getelementptr double, ptr %arg.room, i64 %.167.5
  store double %.152.6, ptr %.155.6, align 8
  %.158.6 = fcmp oge double %.152.6, %.16
  %.162.6 = fcmp ole double %.152.6, %.21
  %.16547.6 = and i1 %.158.6, %.162.6
  %.165.6 = zext i1 %.16547.6 to i64
  %.167.6 = add nuw nsw i64 %.167.5, %.165.6
  %.171.6 = fcmp olt double %.152.6, %.16
  %.173.6 = zext i1 %.171.6 to i64
  %.175.6 = add nuw nsw i64 %.175.5, %.173.6
  %.125.7 = add nuw nsw i64 %.1184951, 8
  %sunkaddr49 = getelementptr i8, ptr %sunkaddr21, i64 56
  %.152.7 = load double, ptr %sunkaddr49, align 8
  %.155.7 = getelementptr double, ptr %arg.room, i64 %.167.6
  store double %.152.7, ptr %.155.7, align 8
  %.158.7 = fcmp oge double %.152.7, %.16
  %.162.7 = fcmp ole double %.152.7, %.21
  %.16547.7 = and i1 %.158.7, %.162.7
  %.165.7 = zext i1 %.16547.7 to i64
  %.167.7 = add nuw nsw i64 %.167.6, %.165.7
  %.171.7 = fcmp olt double %.152.7, %.16
  %.173.7 = zext i1 %.171.7 to i64
  %.175.7 = add nuw nsw i64 %.175.6, %.173.7
  %niter.ncmp.7 = icmp eq i64 %unroll_iter, %.125.7
  br i1 %niter.ncmp.7, label %B264.loopexit.unr-lcssa, label %B76

B264.loopexit.unr-lcssa:                          ; preds = %B76
  %lcmp.mod.not = icmp eq i64 %xtraiter, 0
  br i1 %lcmp.mod.not, label %B264, label %B76.epil.preheader

B76.epil.preheader:                               ; preds = %B264.loopexit.unr-lcssa, %B76.preheader
  %less.2.054.epil.init = phi i64 [ 0, %B76.preheader ], [ %.175.7, %B264.loopexit.unr-lcssa ]
  %found.2.053.epil.init = phi i64 [ 0, %B76.preheader ], [ %.167.7, %B264.loopexit.unr-lcssa ]
  %.1184951.epil.init = phi i64 [ 0, %B76.preheader ], [ %.125.7, %B264.loopexit.unr-lcssa ]
  %1 = shl i64 %.1184951.epil.init, 3
  %scevgep = getelementptr i8, ptr %arg.x, i64 %1
  br label %B76.epil

B76.epil:                                         ; preds = %B76.epil, %B76.epil.preheader
  %less.2.054.epil = phi i64 [ %.175.epil, %B76.epil ], [ %less.2.054.epil.init, %B76.epil.preheader ]
  %found.2.053.epil = phi i64 [ %.167.epil, %B76.epil ], [ %found.2.053.epil.init, %B76.epil.preheader ]
  %epil.iter = phi i64 [ %epil.iter.next, %B76.epil ], [ 0, %B76.epil.preheader ]
  %2 = shl nuw nsw i64 %epil.iter, 3
  %scevgep4 = getelementptr i8, ptr %scevgep, i64 %2
  %.152.epil = load double, ptr %scevgep4, align 8
  %.155.epil = getelementptr double, ptr %arg.room, i64 %found.2.053.epil
  store double %.152.epil, ptr %.155.epil, align 8
  %.158.epil = fcmp oge double %.152.epil, %.16
  %.162.epil = fcmp ole double %.152.epil, %.21
  %.16547.epil = and i1 %.158.epil, %.162.epil
  %.165.epil = zext i1 %.16547.epil to i64
  %.167.epil = add nuw nsw i64 %found.2.053.epil, %.165.epil
  %.171.epil = fcmp olt double %.152.epil, %.16
  %.173.epil = zext i1 %.171.epil to i64
  %.175.epil = add nuw nsw i64 %less.2.054.epil, %.173.epil
  %epil.iter.next = add i64 %epil.iter, 1
  %epil.iter.cmp.not = icmp eq i64 %xtraiter, %epil.iter.next
  br i1 %epil.iter.cmp.not, label %B264, label %B76.epil, !llvm.loop !52

B264:                                             ; preds = %B76.epil, %B264.loopexit.unr-lcssa, %B0.endif
  %found.2.0.lcssa = phi i64 [ 0, %B0.endif ], [ %.167.7, %B264.loopexit.unr-lcssa ], [ %.167.epil, %B76.epil ]
  %less.2.0.lcssa = phi i64 [ 0, %B0.endif ], [ %.175.7, %B264.loopexit.unr-lcssa ], [ %.175.epil, %B76.epil ]
  store i64 %less.2.0.lcssa, ptr %arg.below, align 8
  store i64 %found.2.0.lcssa, ptr %retptr, align 8
  ret void
}

; Function Attrs: nofree norecurse nosync nounwind memory(argmem: readwrite)
define i64 @between(ptr readonly %.1, i64 %.2, ptr readonly %.3, ptr writeonly %.4, ptr writeonly %.5) local_unnamed_addr #0 {
entry:
  %.7 = alloca i64, align 8
  store i64 0, ptr %.7, align 8
  call fastcc void @inside_between(ptr nonnull %.7, ptr %.1, i64 %.2, ptr %.3, ptr %.4, ptr %.5) #4
  %.21 = load i64, ptr %.7, align 8
  ret i64 %.21
}

; Function Attrs: nocallback nofree nounwind willreturn memory(argmem: write)
declare void @llvm.memset.p0.i64(ptr writeonly, i8, i64, i1 immarg) #3

attributes #0 = { nofree norecurse nosync nounwind memory(argmem: readwrite) }
attributes #1 = { mustprogress nocallback nofree nosync nounwind speculatable willreturn memory(none) }
attributes #2 = { mustprogress nocallback nofree nosync nounwind speculatable willreturn memory(none) }
attributes #3 = { nocallback nofree nounwind willreturn memory(argmem: write) }
attributes #4 = { noinline }

!0 = distinct !{!0, !1}
!1 = !{!"llvm.loop.unroll.disable"}
!2 = distinct !{!2, !3, !4}
!3 = !{!"llvm.loop.isvectorized", i32 1}
!4 = !{!"llvm.loop.unroll.runtime.disable"}
!5 = distinct !{!5, !1}
!6 = distinct !{!6, !3}
!7 = !{!8}
!8 = distinct !{!8, !9}
!9 = distinct !{!9, !"LVerDomain"}
!10 = !{!11}
!11 = distinct !{!11, !9}
!12 = !{!13}
!13 = distinct !{!13, !9}
!14 = !{!15}
!15 = distinct !{!15, !9}
!16 = !{!17}
!17 = distinct !{!17, !9}
!18 = !{!19}
!19 = distinct !{!19, !9}
!20 = !{!17, !15, !13, !11, !8}
!21 = distinct !{!21, !3, !4}
!22 = !{!"branch_weights", i32 4, i32 28}
!23 = distinct !{!23, !3, !4}
!24 = distinct !{!24, !3}
!25 = distinct !{!25, !3, !4}
!26 = !{!"branch_weights", i32 8, i32 24}
!27 = distinct !{!27, !3, !4}
!28 = distinct !{!28, !1}
!29 = distinct !{!29, !1}
!30 = distinct !{!30, !4, !3}
!31 = distinct !{!31, !3}
!32 = distinct !{!32, !3, !4}
!33 = distinct !{!33, !3, !4}
!34 = !{!35}
!35 = distinct !{!35, !36}
!36 = distinct !{!36, !"LVerDomain"}
!37 = !{!38}
!38 = distinct !{!38, !36}
!39 = !{!40}
!40 = distinct !{!40, !36}
!41 = !{!42}
!42 = distinct !{!42, !36}
!43 = !{!44}
!44 = distinct !{!44, !36}
!45 = !{!46}
!46 = distinct !{!46, !36}
!47 = !{!44, !42, !40, !38, !35}
!48 = distinct !{!48, !3, !4}
!49 = distinct !{!49, !3, !4}
!50 = distinct !{!50, !1}
!51 = distinct !{!51, !3}
!52 = distinct !{!52, !1}
